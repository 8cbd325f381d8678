"use strict";
// How much waits on this phone, for how long already, and until when it is safe here.
(() => {
  const SAFE_FOR_MS = 6 * 86400e3; // some browsers clear a site's store after a week without a touch

  const many = (count, one, more) => `${count} ${count === 1 ? one : more}`;

  function age(ms) {
    for (const [size, one, more] of [[86400e3, "day", "days"], [3600e3, "hour", "hours"], [60e3, "minute", "minutes"]]) {
      if (ms >= size) return many(Math.floor(ms / size), one, more);
    }
    return "";
  }

  function until(oldestMs) {
    const end = oldestMs + SAFE_FOR_MS;
    if (end < Date.now() + 86400e3) return "open it in Wi-Fi today";
    return `open it in Wi-Fi before ${new Date(end).toLocaleDateString("en", {weekday: "long"})}`;
  }

  function waitingWords(mine, signedOut) {
    if (mine.length === 0) return "";
    const oldestMs = Math.min(...mine.map(({savedMs}) => savedMs));
    const count = many(mine.length, "entry waits", "entries wait");
    if (signedOut) return `${count} on this phone until you sign in.`;
    const waited = age(Date.now() - oldestMs);
    const since = waited ? ` (the oldest for ${waited})` : "";
    return `${count} on this phone${since}; ${until(oldestMs)}.`;
  }

  window.rindwatch.waitingWords = {many, waitingWords};
})();
