"use strict";
// A wheel's own page: after an entry it stays where it is; without a signal it fills itself in from what is kept.
(() => {
  const place = document.getElementById("at");
  const isKept = place.dataset.wheel === "any";
  const {fillWeighing, enteredHere} = window.rindwatch;
  const set = (name, text) => { for (const part of document.querySelectorAll(`[data-fact="${name}"]`)) part.textContent = text; };

  async function fillIn() {
    const id = location.pathname.split("/").pop();
    place.dataset.wheel = id;
    const answer = await fetch("/round/kept.json");
    const kept = await answer.json();
    window.rindwatch.kept = kept;
    const own = kept.wheels[id];
    for (const line of document.querySelectorAll(".kept-words")) line.hidden = false;
    if (!own) return set("about", "This phone keeps nothing of this wheel. What you enter is kept all the same.");
    document.title = own.code;
    document.querySelector("[data-move]")?.setAttribute("href", `/wheels/move?wheel=${id}`);
    set("code", own.code);
    set("about", own.about);
    set("as_of", `, as of ${kept.as_of}`);
    set("last", own.last ? `Last: ${own.last}` : "Not weighed yet.");
    if (own.clean) set("clean", `From the rounds: ${own.clean}.`);
    for (const form of document.querySelectorAll('form[data-entry="weighing"]')) fillWeighing(form);
  }

  if (isKept) fillIn().catch((error) => set("about", `This wheel cannot be shown without the house (${error.name}). What you enter is kept all the same.`));

  // What this phone entered and the page, which is older, does not list.
  function showHere() {
    const asOfMs = Date.parse(place.dataset.asOf);
    const own = isKept ? location.pathname.split("/").pop() : place.dataset.wheel;
    const fresh = ({receivedAt}) => isKept || !receivedAt || Date.parse(receivedAt) > asOfMs;
    enteredHere.show(document.querySelector("[data-here]"), own, fresh).catch((error) => console.info(`nothing of this phone: ${error.name}`));
  }

  // Without the house, the latest entries that it had, to be corrected here too.
  function showLately() {
    const lately = document.querySelector("[data-lately]");
    if (isKept && lately) enteredHere.showKept(lately, location.pathname.split("/").pop()).catch((error) => console.info(`nothing kept: ${error.name}`));
  }

  const showAll = () => { showHere(); showLately(); };
  document.addEventListener("outbox", ({detail: {kind}}) => { if (kind === "saved" || kind === "rested") showAll(); });
  showAll();

  document.addEventListener("entering", ({target, detail}) => {
    const code = document.querySelector('[data-fact="code"]').textContent;
    const said = detail.button?.textContent.trim();
    if (target.dataset.entry !== "weighing") detail.words ||= `${code}: ${said && !/^Keep/.test(said) ? said.split("\n")[0] : "kept"}`;
  });
  document.addEventListener("entered", () => scrollTo({top: 0}));
})();
