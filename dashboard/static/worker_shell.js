"use strict";
// Keeps the look of the pages on the phone, and says so when the house cannot be reached. Pages themselves are not kept
// here: they would show yesterday's air as today's. Other parts may put handlers before this one.
const SHELL = `shell-${self.rindwatch.version}`;

self.addEventListener("install", (event) => {
  event.waitUntil((async () => {
    const cache = await caches.open(SHELL);
    await cache.addAll(self.rindwatch.shell.map((url) => new Request(url, {cache: "reload"})));
    await self.skipWaiting();
  })());
});

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    // An older look stays as long as pages of its version are kept.
    for (const name of await caches.keys()) {
      const used = await caches.has(name.replace("shell-", "round-"));
      if (name.startsWith("shell-") && name !== SHELL && !used) await caches.delete(name);
    }
    await self.clients.claim();
  })());
});

async function staticFile(request) {
  const kept = await caches.match(request);
  if (kept) return kept;
  const answer = await fetch(request);
  if (answer.ok) (await caches.open(SHELL)).put(request, answer.clone());
  return answer;
}

async function page(request) {
  try {
    return await fetch(request);
  } catch {
    return (await caches.match(self.rindwatch.offline)) ?? Response.error();
  }
}

// A handler looks at the event and, when the request is its own, answers it and returns true.
self.rindwatch.handlers.push((event) => {
  const {request} = event;
  if (request.method !== "GET") return false;
  const url = new URL(request.url);
  if (url.origin !== self.location.origin) return false;
  if (url.pathname.startsWith("/static/")) event.respondWith(staticFile(request));
  else if (request.mode === "navigate") event.respondWith(page(request));
  else return false;
  return true;
});

self.addEventListener("fetch", (event) => {
  self.rindwatch.handlers.some((handler) => handler(event));
});
