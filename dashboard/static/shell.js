"use strict";
// Small comforts of every page. Everything works without them.
(() => {
  // How far the phone's clock is from the house's; known after the first answer to refresh.js.
  const clock = {skewMs: 0};

  function ago(seconds) {
    for (const [size, one, many] of [[86400, "day", "days"], [3600, "h", "h"], [60, "min", "min"]]) {
      const count = Math.floor(Math.abs(seconds) / size);
      if (count > 0) {
        const span = `${count} ${count === 1 ? one : many}`;
        return seconds > 0 ? `${span} ago` : `in ${span}`;
      }
    }
    return "just now";
  }

  // Keeps "2 min ago" true while a page stays open.
  function tick() {
    for (const time of document.querySelectorAll("time[data-ago]")) {
      const words = ago((Date.now() + clock.skewMs - Date.parse(time.dateTime)) / 1000);
      if (time.textContent !== words) time.textContent = words;
    }
  }
  setInterval(tick, 20000);
  document.addEventListener("visibilitychange", tick);
  window.rindwatch = {clock, tick};

  // Only where the browser trusts the connection; elsewhere the pages work while they are open.
  if ("serviceWorker" in navigator) {
    navigator.serviceWorker.register("/sw.js").catch((error) => console.info(`no worker here: ${error.name}`));
  }
})();
