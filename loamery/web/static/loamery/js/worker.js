// Keeps the page for the heap and what it needs, so that it opens with no network. Everything else goes to the network as always.
"use strict";
const SHELF = "loamery-{{version}}";
const FILES = {{files}};
const isHere = (url) => /^\/g\/[^/]+\/here\/$/.test(url.pathname);

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(SHELF).then((shelf) => shelf.addAll(FILES)).then(() => self.skipWaiting()));
});
self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) if (name.startsWith("loamery-") && name !== SHELF) {
      const old = await caches.open(name), now = await caches.open(SHELF);
      for (const ask of await old.keys()) if (isHere(new URL(ask.url))) await now.put(ask, await old.match(ask));
      await caches.delete(name);
    }
    await self.clients.claim();
    const shelf = await caches.open(SHELF);
    for (const page of await self.clients.matchAll({ type: "window" })) {
      const url = new URL(page.url);
      if (isHere(url)) { const answer = await fetch(url.pathname, { credentials: "same-origin" }); if (answer.ok && !answer.redirected) await shelf.put(url.pathname, answer); }
    }
  })());
});
self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== self.location.origin) return;
  if (isHere(url)) event.respondWith(fresh(event.request, url));
  else if (FILES.includes(url.pathname)) event.respondWith(caches.match(url.pathname).then((kept) => kept ?? fetch(event.request)));
});
async function fresh(request, url) {
  const shelf = await caches.open(SHELF);
  try {
    const answer = await fetch(request);
    if (answer.ok && !answer.redirected) await shelf.put(url.pathname, answer.clone());
    return answer;
  } catch (error) {
    const kept = await shelf.match(url.pathname);
    if (kept) return kept;
    throw error;
  }
}
