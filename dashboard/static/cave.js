"use strict";
// The chart of one cave: a picture of it for the phone, and a fresh one while it ends now.
(() => {
  const place = document.querySelector("#air");
  if (!place) return;

  const button = document.querySelector("#picture");
  place.addEventListener("drawn", () => { button.hidden = false; });
  button.addEventListener("click", async () => {
    const {width, height} = place.getBoundingClientRect();
    // The chart is drawn on nothing; a picture needs a ground, or it is unreadable where it is put.
    const sheet = getComputedStyle(document.documentElement).getPropertyValue("--sheet").trim();
    const figure = {data: place.data, layout: {...place.layout, paper_bgcolor: sheet, plot_bgcolor: sheet}};
    const url = await window.Plotly.toImage(figure, {format: "png", width, height, scale: 2});
    const link = Object.assign(document.createElement("a"), {href: url, download: `${button.dataset.name}.png`});
    document.body.append(link);
    link.click();
    link.remove();
  });

  const everyS = Number(button.dataset.everyS);
  if (everyS > 0) {
    setInterval(() => { if (!document.hidden) window.rindwatchPlots.load(place); }, everyS * 1000);
  }
})();
