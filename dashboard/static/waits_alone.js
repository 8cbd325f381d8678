"use strict";
// On a page that stands alone, where nobody is known: how much waits on this phone, and the way to what it keeps.
(() => {
  const place = document.querySelector("[data-waits-alone]");

  async function count() {
    const known = (await indexedDB.databases?.()) ?? [];
    if (!known.some(({name}) => name === "rindwatch")) return;
    const records = await window.rindwatch.store.waiting();
    const words = window.rindwatch.waitingWords.waitingWords(records, place.dataset.waitsAlone === "sign-in");
    place.querySelector("span").textContent = words;
    place.hidden = !words;
  }

  // Only what this phone truly keeps is offered.
  async function ways() {
    for (const way of document.querySelectorAll("[data-kept-way]")) {
      way.hidden = !("caches" in window && await caches.match(new URL(way.querySelector("a").href).pathname));
    }
  }

  const show = () => Promise.all([count(), ways()]).catch((error) => console.info(`nothing to show of the outbox: ${error.name}`));
  addEventListener("pageshow", show);
})();
