"use strict";
// The set-up's real test: the radio off, one entry, the radio on, and the tick once the house has it. The trial entry is
// taken back at the end, so that the book shows nothing of it.
(() => {
  const place = document.getElementById("entry-test");
  const {outbox, ids, store} = window.rindwatch;
  if (!place) return;
  const part = (name) => place.querySelector(`[data-${name}]`);
  const say = (text) => { part("says").textContent = text; };
  const LOOK_MS = 1000;
  let entry = null, enteredWithout = false;

  // The worker answers no question of this kind, so an answer is the house's own.
  async function houseAnswers() {
    try {
      return (await fetch("/healthz", {cache: "no-store", signal: AbortSignal.timeout(3000)})).ok;
    } catch {
      return false;
    }
  }

  async function waitForSilence() {
    const silent = !(await houseAnswers());
    if (entry) return; // it was entered while the house was asked
    part("enter").hidden = !silent;
    say(silent ? "No signal: good. Now enter one." : "Now switch the radio off: flight mode, or Wi-Fi and mobile data both.");
    setTimeout(waitForSilence, LOOK_MS);
  }

  async function enter() {
    if (entry) return;
    entry = {id: ids.newId(), group_id: ids.newId(), ...outbox.stamp(), body: {kind: "note", text: "A trial without a signal"}};
    enteredWithout = !(await houseAnswers());
    part("enter").hidden = true;
    await outbox.save([entry], "The trial entry");
    say("Saved on this phone. Now switch the radio on again.");
    waitForArrival();
  }

  async function waitForArrival() {
    outbox.flush(true);
    const known = (await store.done()).find(({id}) => id === entry.id);
    if (!known?.receivedAt) return setTimeout(waitForArrival, LOOK_MS);
    if (!enteredWithout) return say("It arrived, but the radio was on. Begin again, with the radio off.");
    const answer = await fetch("/phone/ticks", {method: "POST", headers: {"Content-Type": "application/json"}, body: JSON.stringify({entry: true})});
    if (!answer.ok) return say("It arrived, but the tick did not. Open this page again.");
    await outbox.save([{id: ids.newId(), ...outbox.stamp(), replaces: entry.id, body: {kind: "withdrawn"}}], "Trial entry taken back");
    await outbox.flush(true);
    location.reload();
  }

  part("begin").addEventListener("click", () => {
    part("begin").hidden = true;
    waitForSilence();
  });
  part("enter").addEventListener("click", enter);
  store.works().then((works) => {
    if (works) place.hidden = false;
  });
})();
