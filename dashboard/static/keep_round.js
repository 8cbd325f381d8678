"use strict";
// Has the worker keep the round on this phone now and then, so that it opens in the cellar without a signal.
(() => {
  const EVERY_MS = 5 * 60000, PREFIX = "round-";
  const SIGNED_OUT = "signed-out"; // a cache that is there after somebody signed out here, for the worker to see

  window.rindwatch.forgetRound = async () => {
    await caches.open(SIGNED_OUT);
    for (const name of await caches.keys()) if (name.startsWith(PREFIX)) await caches.delete(name);
  };

  async function keep() {
    if (!("serviceWorker" in navigator) || document.hidden) return;
    const {active} = await navigator.serviceWorker.ready;
    active.postMessage({rindwatch: "keep", unlessWithinMs: EVERY_MS});
  }

  const soon = () => setTimeout(() => keep().catch((error) => console.info(`round not kept: ${error.name}`)), 1500);
  if ("caches" in window) caches.delete(SIGNED_OUT).catch(() => {});
  addEventListener("load", soon);
  document.addEventListener("visibilitychange", soon);
})();
