"use strict";
// Passkeys: lets this phone make one, or sign in with one. The browser's answer goes into a form of the page, so that
// what the house says comes as an ordinary page. Nothing here is needed: the password is always enough.
(() => {
  const able = isSecureContext && "PublicKeyCredential" in window && "credentials" in navigator;
  const ANSWERED = ["clientDataJSON", "attestationObject", "authenticatorData", "signature", "userHandle"];
  const SAID = {
    NotAllowedError: "It was broken off, or took too long. Try again.",
    InvalidStateError: "This phone has a passkey for you here already.",
    SecurityError: "This browser takes no passkeys at this address.",
  };

  const bytes = (text) => Uint8Array.from(atob(text.replace(/-/g, "+").replace(/_/g, "/")), (sign) => sign.charCodeAt(0));
  const text = (buffer) => btoa(String.fromCharCode(...new Uint8Array(buffer)))
    .replaceAll("+", "-").replaceAll("/", "_").replace(/=+$/, "");
  const named = (list) => list.map((one) => ({...one, id: bytes(one.id)}));

  // Browsers learnt to read and write this JSON by themselves only lately, so it is done here.
  function answerOf(found) {
    const held = ANSWERED.filter((name) => found.response[name]).map((name) => [name, text(found.response[name])]);
    return {id: found.id, rawId: text(found.rawId), type: found.type, response: Object.fromEntries(held)};
  }

  function make(form) {
    const told = JSON.parse(form.dataset.options);
    return navigator.credentials.create({publicKey: {
      ...told, challenge: bytes(told.challenge), user: {...told.user, id: bytes(told.user.id)},
      excludeCredentials: named(told.excludeCredentials),
    }});
  }

  async function signIn(form) {
    const asked = await fetch(`${form.getAttribute("action")}/question`, {method: "POST", signal: AbortSignal.timeout(30000)});
    const told = await asked.json();
    if (!asked.ok) throw new Error(told.said);
    return navigator.credentials.get({publicKey: {
      ...told, challenge: bytes(told.challenge), allowCredentials: named(told.allowCredentials),
    }});
  }

  function say(form, words) {
    const line = form.querySelector("[data-said]");
    line.textContent = words;
    line.hidden = words === "";
  }

  async function go(form) {
    const button = form.querySelector("button");
    button.disabled = true;
    say(form, "");
    try {
      const found = await (form.dataset.passkey === "make" ? make(form) : signIn(form));
      form.elements.credential.value = JSON.stringify(answerOf(found));
      form.submit();
    } catch (error) {
      say(form, SAID[error.name] ?? (error instanceof TypeError ? "The house did not answer." : error.message));
    } finally {
      button.disabled = false;
    }
  }

  for (const form of document.querySelectorAll("[data-passkey]")) {
    form.hidden = !able && form.dataset.passkey === "sign-in";
    if (!able) say(form, "This browser makes no passkeys.");
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      if (able) go(form);
    });
  }
})();
