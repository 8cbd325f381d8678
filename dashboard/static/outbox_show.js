"use strict";
// Says on every page what was saved just now, how much waits on this phone and until when, and what needs a look.
(() => {
  const place = document.getElementById("waiting");
  if (!place) return;
  const {store, outbox} = window.rindwatch;
  const {many, waitingWords} = window.rindwatch.waitingWords;
  const SAID_FOR_MS = 10000, QUIET_MS = 5000;
  const part = (name) => place.querySelector(`[data-${name}]`);
  let last = null;

  function savedWords(records) {
    if (!last || Date.now() - last.atMs > SAID_FOR_MS) return "";
    const here = records.some(({id}) => last.ids.includes(id));
    return `${last.words}. ${here ? "Saved on this phone." : "In the book."}`;
  }

  function oddWords(odd, told) {
    const parts = [odd ? `${many(odd, "entry needs", "entries need")} a look.` : "", told ? `${many(told, "entry was", "entries were")} flagged.` : ""];
    return parts.filter(Boolean).join(" ");
  }

  async function show() {
    const [records, told] = await Promise.all([store.waiting(), store.told()]);
    const me = outbox.me().person ?? "";
    const mine = records.filter(({odd, by}) => !odd && by === me);
    const old = mine.filter(({savedMs}) => Date.now() - savedMs > QUIET_MS || outbox.state.lost || outbox.state.signedOut);
    const others = records.filter(({by}) => by !== me).length;
    const lines = [savedWords(records), waitingWords(old.length ? mine : [], outbox.state.signedOut),
      oddWords(records.filter(({odd, by}) => odd && by === me).length, told.length),
      others ? `${many(others, "entry", "entries")} of somebody else ${others === 1 ? "waits" : "wait"} here.` : ""];
    const said = lines.filter(Boolean).join(" ");
    if (part("says").textContent !== said) part("says").textContent = said;
    part("undo").hidden = !(lines[0] && last.group);
    part("look").hidden = lines.slice(1).every((line) => !line);
    part("sign-in").hidden = !outbox.state.signedOut;
    place.hidden = !said;
    document.body.classList.toggle("has-waiting", Boolean(said));
    place.dataset.count = mine.length;
  }

  let showing = null;
  function showSoon() {
    showing ??= new Promise((resolve) => requestAnimationFrame(resolve)).then(show)
      .catch((error) => console.info(`nothing to show of the outbox: ${error.name}`)).finally(() => { showing = null; });
  }

  document.addEventListener("outbox", ({detail}) => {
    if (detail.kind === "saved") last = {words: detail.words, group: detail.group, ids: detail.ids, atMs: Date.now()};
    showSoon();
  });
  part("undo").addEventListener("click", async () => {
    const {group, words} = last;
    last = null;
    await outbox.undo(group, `Taken back: ${words}`);
  });
  setInterval(() => document.hidden || showSoon(), 2000);
  showSoon();

  // Signing out leaves no view of the caves on the phone; what waits stays, and is sent when the same person is back.
  document.addEventListener("submit", (event) => {
    if (!event.target.matches('form[action="/sign-out"]') || !("caches" in window)) return;
    event.preventDefault();
    window.rindwatch.forgetRound().finally(() => event.target.submit());
  });
})();
