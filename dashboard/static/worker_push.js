"use strict";
// Shows a pushed warning, and opens its page when it is tapped. Each push must show something at once: browsers take the
// permission away from those who stay silent.
const ICON = self.rindwatch.shell.find((url) => url.includes("icon-192"));

function toldBy(event) {
  try {
    return event.data.json().notification ?? {};
  } catch {
    return {};
  }
}

self.addEventListener("push", (event) => {
  const {title, body, tag, navigate} = toldBy(event);
  const options = {body: body ?? "Open the page to see what it is.", icon: ICON, data: {navigate: navigate ?? "/warnings"}};
  // A later word on the same problem takes the place of the first, and is heard again.
  if (tag) Object.assign(options, {tag, renotify: true});
  event.waitUntil(self.registration.showNotification(title ?? "rindwatch: a warning", options));
});

// Only pages of our own are opened, whatever a message names.
function ownPage(navigate) {
  try {
    const url = new URL(navigate, self.location.origin);
    return new URL(url.pathname + url.search + url.hash, self.location.origin).href;
  } catch {
    return new URL("/warnings", self.location.origin).href;
  }
}

async function open(page) {
  const [first] = await self.clients.matchAll({type: "window"});
  if (!first) return self.clients.openWindow(page);
  try {
    return (await first.navigate(page))?.focus();
  } catch {
    return self.clients.openWindow(page); // a window that this worker does not look after yet
  }
}

self.addEventListener("notificationclick", (event) => {
  event.notification.close();
  event.waitUntil(open(ownPage(event.notification.data?.navigate)));
});
