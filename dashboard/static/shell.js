"use strict";
// Small comforts of every page. Everything works without them.

// Keeps "2 min ago" true while a page stays open. The phone's clock may be off, so it counts from the page's own time.
const openedAt = performance.now();
function ago(seconds) {
  for (const [size, one, many] of [[86400, "day", "days"], [3600, "h", "h"], [60, "min", "min"]]) {
    const count = Math.floor(seconds / size);
    if (count > 0) return `${count} ${count === 1 ? one : many} ago`;
  }
  return "just now";
}
