"use strict";
// Draws each chart of a page. The library is fetched only where there is a chart, once, from this very server.
(() => {
  if (window.rindwatchPlots) return;

  // Nothing leaves the house: no upload button, no logo link, no server to send to.
  const CONFIG = {
    showSendToCloud: false, displaylogo: false, responsive: true, plotlyServerURL: "",
    modeBarButtonsToRemove: ["lasso2d", "select2d", "autoScale2d"],
  };
  let library = null;

  function loadLibrary(place) {
    library ??= new Promise((resolve, reject) => {
      // The library adds its rules to the sheet of this id by script, which the page's policy allows.
      const sheet = Object.assign(document.createElement("link"),
        {rel: "stylesheet", id: "plotly.js-style-global", href: place.dataset.style});
      const script = Object.assign(document.createElement("script"), {src: place.dataset.library});
      script.onload = () => resolve(window.Plotly);
      script.onerror = () => reject(new Error("the charts' library did not come"));
      sheet.onload = sheet.onerror = () => document.head.append(script);
      document.head.append(sheet);
    });
    return library;
  }

  async function figureOf(place) {
    const source = place.dataset.figure;
    if (source.startsWith("#")) return JSON.parse(document.querySelector(source).textContent);
    const answer = await fetch(source, {signal: AbortSignal.timeout(30000), headers: {Accept: "application/json"}});
    if (!answer.ok || answer.redirected) throw new Error(`the figure did not come: ${answer.status}`);
    return answer.json();
  }

  const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

  // A colour written as "--accent" is looked up in the style sheet, so that charts follow light and dark.
  function coloured(value) {
    if (typeof value === "string") return value.startsWith("--") ? colour(value) : value;
    if (Array.isArray(value)) return value.length && typeof value[0] === "number" ? value : value.map(coloured);
    if (value && typeof value === "object") {
      return Object.fromEntries(Object.entries(value).map(([key, inner]) => [key, coloured(inner)]));
    }
    return value;
  }

  function laidOut(layout) {
    const ink = colour("--ink"), line = colour("--line"), grid = colour("--grid");
    const axis = {gridcolor: grid, zerolinecolor: line, linecolor: line, automargin: true};
    const whole = {
      paper_bgcolor: "rgba(0,0,0,0)", plot_bgcolor: "rgba(0,0,0,0)", dragmode: "pan", hovermode: "x unified",
      modebar: {bgcolor: "rgba(0,0,0,0)", color: colour("--soft"), activecolor: colour("--accent")},
      margin: {l: 44, r: 12, t: 44, b: 40}, legend: {orientation: "h", y: -0.15},
      hoverlabel: {bgcolor: colour("--sheet")}, ...coloured(layout),
    };
    whole.font = {family: "system-ui, sans-serif", size: 14, color: ink, ...whole.font};
    for (const key of new Set(["xaxis", "yaxis", ...Object.keys(whole)])) {
      if (/^[xy]axis\d*$/.test(key)) whole[key] = {...axis, ...whole[key]};
    }
    return whole;
  }

  // One after the other: the library lays out in steps, and a second drawing amid them places axes at no number.
  function draw(place, figure) {
    place.figure = figure;
    const drawing = (place.drawing ?? Promise.resolve()).then(() => drawNow(place, figure));
    place.drawing = drawing.catch(() => {});
    return drawing;
  }

  async function drawNow(place, figure) {
    const Plotly = await loadLibrary(place);
    await Plotly.react(place, coloured(figure.data), laidOut(figure.layout ?? {}), {...CONFIG, ...figure.config});
    place.dataset.drawn = "yes";
    place.dispatchEvent(new CustomEvent("drawn"));
  }

  async function load(place) {
    const lost = place.querySelector(".plot-lost");
    try {
      await draw(place, await figureOf(place));
      lost?.remove();
    } catch (error) {
      if (lost) lost.hidden = false;
      console.warn(String(error));
    }
  }

  const places = () => document.querySelectorAll(".plot[data-figure]");
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => {
    for (const place of places()) if (place.figure) draw(place, place.figure);
  });
  window.rindwatchPlots = {draw, load};
  for (const place of places()) load(place);
})();
