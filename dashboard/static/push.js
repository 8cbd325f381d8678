"use strict";
// Warnings as notifications of this phone. Nothing is asked and nothing leaves until somebody taps; from then on each
// page compares what the browser holds with what the house knows, because browsers drop subscriptions without a word.
(() => {
  const PATH = "/settings/warnings/phone", CHOSEN = "rindwatch-notifications", PATIENCE_MS = 15000;
  const card = document.querySelector("[data-push]");
  const has = {
    secure: isSecureContext,
    worker: "serviceWorker" in navigator,
    notifications: "Notification" in window && "PushManager" in window,
  };
  const able = Object.values(has).every(Boolean);

  function isChosen() {
    try { return localStorage.getItem(CHOSEN) === "yes"; } catch { return false; }
  }

  function choose(yes) {
    try { yes ? localStorage.setItem(CHOSEN, "yes") : localStorage.removeItem(CHOSEN); } catch { /* kept by nobody */ }
  }

  async function ask(path, body) {
    const answer = await fetch(PATH + path, {
      method: "POST", headers: {"Content-Type": "application/json"}, body: JSON.stringify(body),
      signal: AbortSignal.timeout(60000),
    });
    if (!answer.ok) throw new Error((await answer.json().catch(() => ({}))).said ?? "The house did not take it.");
    return answer.json();
  }

  const bytes = (text) => Uint8Array.from(atob(text.replace(/-/g, "+").replace(/_/g, "/")), (sign) => sign.charCodeAt(0));
  const text = (buffer) => btoa(String.fromCharCode(...new Uint8Array(buffer)))
    .replaceAll("+", "-").replaceAll("/", "_").replace(/=+$/, "");
  const known = (held) => ({endpoint: held.endpoint, key: held.options?.applicationServerKey ? text(held.options.applicationServerKey) : ""});

  // A browser whose certificate warning was clicked away never has a ready worker.
  function manager() {
    const late = new Promise((_, reject) => setTimeout(() => reject(new Error("This phone does not trust the house's certificate yet.")), PATIENCE_MS));
    return Promise.race([navigator.serviceWorker.ready, late]).then((worker) => worker.pushManager);
  }

  async function subscribe() {
    const push = await manager();
    const {key} = await ask("/key", {});
    await (await push.getSubscription())?.unsubscribe();
    const held = await push.subscribe({userVisibleOnly: true, applicationServerKey: bytes(key)});
    await ask("", {subscription: held.toJSON()});
    choose(true);
  }

  // Says how it stands, and mends what can be mended without asking anybody.
  async function compare() {
    if (Notification.permission !== "granted") return Notification.permission === "denied" ? "denied" : "off";
    if (!isChosen()) return "off";
    const held = await (await manager()).getSubscription();
    const {state} = held ? await ask("/compare", known(held)) : {state: "unknown"};
    if (state === "off") {
      choose(false);
      await held.unsubscribe();
    }
    if (state !== "unknown") return state;
    await subscribe();
    return "on";
  }

  function show(state, said = "") {
    if (!card) return;
    const line = card.querySelector("[data-push-says]");
    line.textContent = said || line.dataset[state];
    line.parentElement.className = `state ${state === "on" ? "good" : state === "lacking" || state === "denied" ? "watch" : "unknown"}`;
    card.querySelector("[data-push-on]").hidden = !["off", "other"].includes(state);
    card.querySelector("[data-push-test]").hidden = state !== "on";
    card.querySelector("[data-push-off]").hidden = state !== "on";
    card.querySelector("[data-push-setup]").hidden = state !== "lacking";
    for (const lack of card.querySelectorAll("[data-push-lack]")) lack.hidden = has[lack.dataset.pushLack] !== false;
  }

  async function switchOn() {
    // First of all: some browsers take the question only as the direct answer to a tap.
    const permission = await Notification.requestPermission();
    if (permission !== "granted") return show(permission === "denied" ? "denied" : "off");
    await subscribe();
    show("on");
  }

  async function switchOff() {
    const held = await (await manager()).getSubscription();
    choose(false);
    if (held) {
      await ask("/end", known(held));
      await held.unsubscribe();
    }
    show("off");
  }

  async function test() {
    const held = await (await manager()).getSubscription();
    const {worked, reason} = await ask("/test", known(held));
    show("on", worked ? "A test was sent to this phone." : `The test did not go out: ${reason}.`);
  }

  // A tap that could not be done says why, and leaves the buttons as they were.
  function tapped(button, deed, state) {
    card.querySelector(button).addEventListener("click", () => deed().catch((error) => show(state, `Not done: ${error.message}`)));
  }

  if (card) {
    tapped("[data-push-on]", switchOn, "off");
    tapped("[data-push-off]", switchOff, "on");
    tapped("[data-push-test]", test, "on");
  }
  if (!able) show("lacking");
  else if (card || isChosen()) compare().then(show, (error) => show("off", error.message));
})();
