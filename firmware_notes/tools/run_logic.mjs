// Runs the node program's logic tests under real MicroPython.
// Called as: node run_logic.mjs <repository> [test file ...]; prints one line of JSON a test.
import { readFileSync, readdirSync, statSync } from "node:fs";
import { basename, join, relative } from "node:path";
import { loadMicroPython } from "@micropython/micropython-webassembly-pyscript";

const NODE = "firmware_notes/node";
const TESTS = "tests/firmware_notes/node";
const [root, ...asked] = process.argv.slice(2);

const micropython = await loadMicroPython({
  heapsize: 8 * 1024 * 1024,
  linebuffer: true,
  stdout: (line) => process.stdout.write(line + "\n"),
});

function makeFolders(path) {
  const parts = path.split("/").slice(0, -1);
  for (let at = 0; at <= parts.length; at++) {
    const folder = ["/lib", ...parts.slice(0, at)].join("/");
    if (!micropython.FS.analyzePath(folder).exists) micropython.FS.mkdir(folder);
  }
}

function copyIn(folder) {
  for (const name of readdirSync(join(root, folder))) {
    const path = join(root, folder, name);
    if (!name.endsWith(".py") || name === "conftest.py" || !statSync(path).isFile()) continue;
    const inside = relative(root, path);
    makeFolders(inside);
    micropython.FS.writeFile("/lib/" + inside, readFileSync(path));
  }
}

copyIn(NODE);
copyIn(TESTS);
const files = asked.length
  ? asked
  : readdirSync(join(root, TESTS)).filter((name) => name.startsWith("test_") && name.endsWith(".py"));
const modules = files.map((name) => `tests.firmware_notes.node.${basename(name, ".py")}`);
micropython.globals.set("modules", JSON.stringify(modules));
micropython.runPython(`
import io, json, os, sys

sys.path.append("/lib")
number = 0

def text_of(error):
    out = io.StringIO()
    sys.print_exception(error, out)
    return out.getvalue()

def call(function):
    """Calls a test, with a fresh folder when it asks for one."""
    global number
    number += 1
    folder = "/flash%d" % number
    os.mkdir(folder)
    try:
        function()
    except TypeError as error:
        if "positional argument" not in str(error):
            raise
        function(folder)

def tell(test, action, *arguments):
    try:
        result = action(*arguments)
        print("@" + json.dumps({"test": test, "passed": True}))
        return result
    except Exception as error:
        print("@" + json.dumps({"test": test, "passed": False, "why": text_of(error)}))

def run(module):
    short = module.split(".")[-1]
    loaded = tell(short, __import__, module, None, None, ("x",))
    for name in sorted(dir(loaded)):
        if name.startswith("test_"):
            tell(short + "::" + name, call, getattr(loaded, name))

print("@" + json.dumps({"version": sys.version}))
for module in json.loads(modules):
    run(module)
`);
