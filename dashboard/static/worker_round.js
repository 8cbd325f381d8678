"use strict";
// Opens the round, a wheel and what waits without a signal: the pages as they were when the house was last reached.
// Each stands under its own time; nothing is kept of an answer that led elsewhere, such as the sign-in.
(() => {
  const KEPT = `round-${self.rindwatch.version}`;
  const {round, any_wheel: wheel, any_correction: correction, pages} = self.rindwatch;
  const PATIENCE_MS = 4000, MOST_PHOTOS = 200;
  const WHEEL = /^\/(at|wheels)\/[0-9a-f-]{36}$/, CORRECTION = /^\/correct\/[0-9a-f-]{36}$/;

  const good = (answer) => answer.ok && !answer.redirected && answer.type === "basic";

  // Somebody signed out here: nothing of the caves is kept until a page is open again.
  const signedOut = () => caches.has("signed-out");
  const named = async (prefix) => (await caches.keys()).filter((name) => name.startsWith(prefix));

  // Looking does not make a cache that is not there. What an older version kept stands until this one has kept all.
  async function keptOf(request) {
    for (const name of [KEPT, ...(await named("round-")).reverse()]) {
      const kept = await caches.match(request, {cacheName: name});
      if (kept) return kept;
    }
    return undefined;
  }

  async function forget(names) {
    for (const name of names) await caches.delete(name);
  }

  // Older versions' pages, and the look and the scripts that they name.
  async function forgetOlder() {
    const old = (await named("round-")).filter((name) => name !== KEPT);
    await forget([...old, ...old.map((name) => name.replace("round-", "shell-"))]);
  }

  async function keepAll() {
    if (await signedOut()) return;
    const cache = await caches.open(KEPT);
    let whole = true;
    for (const path of pages) {
      const answer = await fetch(path, {cache: "no-store", credentials: "same-origin"});
      if (good(answer)) await cache.put(path, answer);
      // Signed out, perhaps from another phone: then this one shows nothing of the caves any more, once nothing waits.
      else if (answer.redirected || answer.status === 401) return (await somethingWaits()) || forget(await named("round-"));
      else whole = false;
    }
    if (!whole) return;
    await cache.put(self.rindwatch.whole, new Response(String(Date.now())));
    await forgetOlder();
    await keepPhotos(cache);
  }

  // When all was kept at last, by this version.
  async function wholeMs() {
    const mark = await caches.match(self.rindwatch.whole, {cacheName: KEPT});
    return mark ? Number(await mark.text()) : 0;
  }

  let keeping = null;
  const keep = () => { keeping ??= keepAll().catch(() => {}).finally(() => { keeping = null; }); return keeping; };

  // The last photo of each wheel, which lies over the camera's picture; a photo's address never shows another one.
  async function keepPhotos(cache) {
    const kept = await (await cache.match("/round/kept.json"))?.json();
    const wanted = new Set(Object.values(kept?.wheels ?? {}).map(({photo}) => photo).filter(Boolean).slice(0, MOST_PHOTOS));
    for (const {url} of await cache.keys()) {
      const path = new URL(url).pathname;
      if (path.startsWith("/photos/") && !wanted.delete(path)) await cache.delete(url);
    }
    for (const path of wanted) {
      const answer = await fetch(path, {credentials: "same-origin"});
      if (good(answer)) await cache.put(path, answer);
    }
  }

  async function photo(request) {
    return (await keptOf(request)) ?? fetch(request);
  }

  self.addEventListener("message", (event) => {
    if (event.data?.rindwatch !== "keep") return;
    const {unlessWithinMs = 0} = event.data;
    event.waitUntil(wholeMs().then((at) => Date.now() - at < unlessWithinMs ? null : keep()));
  });

  self.addEventListener("activate", (event) => {
    event.waitUntil((async () => {
      const old = (await named("round-")).filter((name) => name !== KEPT);
      // The pages name the look and the scripts of their version, so they are taken anew with it. A weak signal makes
      // nobody wait: until all is here, what the older version kept goes on.
      if (old.length) await Promise.race([keep(), new Promise((resolve) => setTimeout(resolve, PATIENCE_MS))]);
    })());
  });

  // Whether entries wait on this phone, so that somebody is in the middle of a round; who signed out here is not.
  async function somethingWaits() {
    if (await signedOut()) return false;
    const known = await indexedDB.databases();
    if (!known.some(({name}) => name === "rindwatch")) return false;
    const answer = (asked) => new Promise((resolve, reject) => Object.assign(asked, {onsuccess: () => resolve(asked.result), onerror: () => reject(asked.error)}));
    const db = await answer(indexedDB.open("rindwatch"));
    try {
      return (await answer(db.transaction("outbox").objectStore("outbox").count())) > 0;
    } finally {
      db.close();
    }
  }

  // Which kept page stands for a path; a wheel's page is one for all wheels, which fills itself in,
  // and so is that of a correction.
  function keptPath(path) {
    if (path === "/") return round;
    if (WHEEL.test(path)) return wheel;
    if (CORRECTION.test(path)) return correction;
    return pages.includes(path) ? path : null;
  }

  async function fromCache(path) {
    const kept = await keptOf(path);
    if (!kept) return null;
    if (!kept.headers.get("Content-Type")?.includes("text/html")) return kept;
    const headers = new Headers(kept.headers);
    for (const name of ["Content-Encoding", "Content-Length"]) headers.delete(name);
    return new Response((await kept.text()).replace("<body", "<body data-kept"), {headers});
  }

  async function fromHouse(request, path) {
    const answer = await fetch(request);
    if (good(answer) && pages.includes(path) && !(await signedOut())) {
      const copy = answer.clone();
      await (await caches.open(KEPT)).put(path, copy);
    }
    return answer;
  }

  // The house first; where it is silent for long, what is kept, while its answer is still waited for.
  async function answerOf(event, path) {
    const house = fromHouse(event.request, new URL(event.request.url).pathname);
    event.waitUntil(house.catch(() => {}));
    const slow = new Promise((resolve) => setTimeout(resolve, PATIENCE_MS)).then(() => fromCache(path));
    try {
      const answer = await Promise.race([house, slow.then((kept) => kept ?? house)]);
      return (await insteadOfSignIn(answer, event.request, path)) ?? answer;
    } catch {
      const kept = await fromCache(path);
      if (kept) return path === round && new URL(event.request.url).pathname === "/" ? Response.redirect(round) : kept;
      const said = event.request.mode === "navigate" ? await caches.match(self.rindwatch.offline) : null;
      return said ?? Response.error();
    }
  }

  // A house that leads elsewhere asks for a sign-in. In the middle of a round that can wait: the kept page comes, and
  // says how many entries wait until then.
  async function insteadOfSignIn(answer, request, path) {
    const leads = request.mode === "navigate" ? answer.type === "opaqueredirect" && new URL(request.url).pathname !== "/"
      : answer.redirected || answer.status === 401;
    return leads && (await somethingWaits().catch(() => false)) ? fromCache(path) : null;
  }

  self.rindwatch.handlers.push((event) => {
    const url = new URL(event.request.url);
    if (event.request.method === "GET" && url.origin === self.location.origin && url.pathname.startsWith("/photos/")) {
      event.respondWith(photo(event.request));
      return true;
    }
    const path = keptPath(url.pathname);
    const asked = event.request.mode === "navigate" || path?.endsWith(".json");
    if (event.request.method !== "GET" || url.origin !== self.location.origin || !path || !asked) return false;
    event.respondWith(answerOf(event, path));
    return true;
  });
})();
