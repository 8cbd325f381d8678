"use strict";
// Parts of a page ask for themselves again while they are looked at. An unchanged part costs an empty answer.
(() => {
  if (window.rindwatch.refreshes) return;
  window.rindwatch.refreshes = true;
  const WAIT_MS = 10000;

  function setLost(path, lost) {
    for (const mark of document.querySelectorAll(`[data-lost="${CSS.escape(path)}"]`)) mark.hidden = !lost;
  }

  function setAsOf(path, answer) {
    const date = Date.parse(answer.headers.get("Date") ?? "");
    if (date) window.rindwatch.clock.skewMs = date - Date.now();
    const words = answer.headers.get("X-As-Of");
    for (const line of document.querySelectorAll(`[data-for="${CSS.escape(path)}"]`)) {
      const time = line.querySelector("time");
      time.dateTime = new Date(Date.now() + window.rindwatch.clock.skewMs).toISOString();
      if (words) line.firstChild.textContent = `as of ${words}, `;
    }
    window.rindwatch.tick();
  }

  // What a person has opened or is typing in must not vanish under the thumb.
  const isBusy = (part) => part.contains(document.activeElement) && document.activeElement.matches("input, select, textarea");

  function replace(part, html) {
    const open = [...part.querySelectorAll("details[open][id]")].map((details) => details.id);
    const focused = part.contains(document.activeElement) ? document.activeElement.id : "";
    part.innerHTML = html;
    for (const id of open) part.querySelector(`#${CSS.escape(id)}`)?.setAttribute("open", "");
    if (focused) part.querySelector(`#${CSS.escape(focused)}`)?.focus();
    part.dispatchEvent(new CustomEvent("refreshed", {bubbles: true}));
  }

  async function ask(part) {
    const path = part.dataset.refresh;
    const headers = part.dataset.etag ? {"If-None-Match": part.dataset.etag} : {};
    const answer = await fetch(path, {headers, cache: "no-store", redirect: "error", signal: AbortSignal.timeout(WAIT_MS)});
    if (answer.status !== 304 && !answer.ok) throw new Error(`answer ${answer.status}`);
    if (answer.status === 200) {
      replace(part, await answer.text());
      part.dataset.etag = answer.headers.get("ETag") ?? "";
    }
    setAsOf(path, answer);
  }

  async function refresh(part) {
    if (document.hidden || part.asking || isBusy(part)) return;
    part.asking = true;
    try {
      await ask(part);
      setLost(part.dataset.refresh, false);
    } catch {
      setLost(part.dataset.refresh, true);
    } finally {
      part.asking = false;
    }
  }

  for (const part of document.querySelectorAll("[data-refresh]")) {
    setInterval(() => refresh(part), Number(part.dataset.everyS ?? 30) * 1000);
    document.addEventListener("visibilitychange", () => refresh(part));
    addEventListener("online", () => refresh(part));
    addEventListener("pageshow", (event) => event.persisted && refresh(part));
  }
})();
