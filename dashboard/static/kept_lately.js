"use strict";
// The latest entries of each wheel as the house had them when this phone last kept the round.
(() => {
  let asked = null; // once for each page that is opened

  async function wheels() {
    const answer = await fetch("/round/lately.json");
    return answer.ok ? (await answer.json()).wheels : {};
  }

  // wheel: of one wheel only. Entries are {id, words, when, entry, carried}; none where nothing is kept.
  window.rindwatch.keptLately = async (wheel = "") => {
    asked ??= wheels().catch(() => ({}));
    const found = await asked;
    return wheel ? found[wheel] ?? [] : Object.values(found).flat();
  };
})();
