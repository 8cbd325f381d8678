"use strict";
// Weights and other measures as the keypad and the forms type them; the same numbers as the house would read. What it
// does not surely understand it refuses, and the house is asked by nobody: the person types it plainer.
(() => {
  // exact: NIST SP 811, appendix B.8
  const GRAMS = {g: 1, kg: 1000, lb: 453.59237, oz: 28.349523125};
  const LEAST_G = 1, MOST_G = 200000;
  const ONE = /^(\d+(?:[.,]\d+)?) *(g|kg|lb|oz)?$/i;
  const POUNDS = /^(\d+) *lb *(\d+(?:[.,]\d+)?) *(?:oz)?$/i;

  const number = (text) => Number(text.replace(",", "."));

  function refuse(text, why) {
    throw new RangeError(`This ${why}, got "${text}".`);
  }

  // text: "2130", "2.13 kg", "4 lb 11.5". unit: of a bare number.
  function grams(text, unit) {
    const plain = text.trim();
    const pounds = POUNDS.exec(plain), one = ONE.exec(plain);
    if (!pounds && !one) refuse(plain, "is not a weight like 2130, 2.13 kg or 4 lb 11 oz");
    if (pounds && number(pounds[2]) >= 16) refuse(plain, "has more ounces than a pound");
    const named = one ? (one[2] ?? unit).toLowerCase() : "lb";
    // "1.250 g" can be one gram and a quarter or twelve hundred and fifty.
    if (one && named !== "kg" && /^\d{1,3}[.,]\d{3}$/.test(one[1])) refuse(plain, "can be read in two ways; leave the mark out");
    const found = pounds ? Number(pounds[1]) * GRAMS.lb + number(pounds[2]) * GRAMS.oz : number(one[1]) * GRAMS[named];
    if (!(found >= LEAST_G && found <= MOST_G)) refuse(plain, `must be from ${LEAST_G} g to ${MOST_G / 1000} kg`);
    return found;
  }

  // A plain number between two, like a pH or a percentage.
  function between(text, least, most, what) {
    const plain = text.trim().replace(/ *%$/, "");
    const found = /^\d+(?:[.,]\d+)?$/.test(plain) ? number(plain) : NaN;
    if (!(found >= least && found <= most)) refuse(text.trim(), `must be ${what} from ${least} to ${most}`);
    return found;
  }

  function shown(value, unit) {
    if (unit === "lb" || unit === "oz") {
      const ounces = Math.round(value / GRAMS.oz * 10) / 10, pounds = Math.floor(ounces / 16);
      const rest = `${Math.round((ounces - pounds * 16) * 10) / 10} oz`;
      return pounds ? `${pounds} lb ${rest}` : rest;
    }
    return value < 999.5 ? `${Math.round(value)} g` : `${(value / 1000).toFixed(2)} kg`;
  }

  window.rindwatch.weights = {grams, between, shown};
})();
