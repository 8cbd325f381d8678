"use strict";
// Finds out what this phone can do here, shows it, and ticks off what the set-up page lists.
(() => {
  const FEATURES = {
    secure: () => isSecureContext && location.protocol === "https:" || ["localhost", "127.0.0.1"].includes(location.hostname),
    worker: () => "serviceWorker" in navigator,
    storage: () => "indexedDB" in window,
    notifications: () => "Notification" in window && "PushManager" in window,
    installed: () => matchMedia("(display-mode: standalone)").matches || navigator.standalone === true,
  };

  function show(name, has) {
    const line = document.querySelector(`[data-feature="${name}"]`);
    if (!line) return;
    line.querySelector(".mark.unknown").hidden = true;
    line.querySelector(".mark.good").hidden = !has;
    line.querySelector(".mark.bad").hidden = has;
    line.querySelector("[data-lacking]").hidden = has;
  }

  // A browser whose warning was clicked away counts as secure but takes no worker: the worker is the proof of trust.
  async function workerRuns() {
    if (!FEATURES.worker()) return false;
    try {
      await navigator.serviceWorker.register("/sw.js");
      await Promise.race([navigator.serviceWorker.ready,
        new Promise((_, reject) => setTimeout(() => reject(new Error("no worker yet")), 15000))]);
      return true;
    } catch {
      return false;
    }
  }

  async function tickOff(done) {
    const steps = document.querySelector("[data-ticks]");
    if (!steps) return;
    const fresh = Object.keys(done).filter((name) => done[name] && steps.querySelector(`[data-step="${name}"].open`));
    if (fresh.length === 0) return;
    const answer = await fetch(steps.dataset.ticks, {
      method: "POST", headers: {"Content-Type": "application/json"},
      body: JSON.stringify(Object.fromEntries(fresh.map((name) => [name, true]))),
    });
    if (answer.ok) location.reload();
  }

  async function look() {
    for (const [name, test] of Object.entries(FEATURES)) show(name, Boolean(test()));
    const runs = await workerRuns();
    show("worker", runs);
    if (!runs && FEATURES.worker()) show("secure", false);
    const kept = runs && (await caches.keys()).some((name) => name.startsWith("shell-"));
    await tickOff({trusted: runs && FEATURES.secure(), installed: FEATURES.installed(), offline: kept});
  }

  look();
})();
