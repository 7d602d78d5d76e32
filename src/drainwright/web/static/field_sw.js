"use strict";
// Keeps the field pages on the device. VERSION, ASSETS and SHELL are put before this by the server.
const PAGES = "drainwright pages";
const FILES = `drainwright files ${VERSION}`;

self.addEventListener("install", (event) => {
  event.waitUntil((async () => {
    await (await caches.open(FILES)).addAll(ASSETS);
    const shell = await fetch(SHELL, { cache: "no-store" });
    if (!shell.ok) throw new Error("no shell");
    await (await caches.open(FILES)).put(SHELL, shell);
    await self.skipWaiting();
  })());
});

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) {
      if (name.startsWith("drainwright files") && name !== FILES) await caches.delete(name);
    }
    await self.clients.claim();
  })());
});

// the list: the network if it answers within 0.7 s, else what was kept
const list = async (request) => {
  const pages = await caches.open(PAGES);
  const kept = await pages.match("/field");
  const asked = fetch(request).then(async (answer) => {
    if (answer.ok) await pages.put("/field", answer.clone());
    return answer;
  });
  if (!kept) return asked;
  const late = new Promise((resolve) => { setTimeout(() => resolve(kept), 700); });
  return Promise.race([asked.catch(() => kept), late]);
};

self.addEventListener("fetch", (event) => {
  const { request } = event, { pathname } = new URL(request.url);
  if (request.method !== "GET" || pathname.startsWith("/field/-/")) return;
  if (pathname.startsWith("/static/")) {
    event.respondWith(caches.match(request).then((found) => found || fetch(request)));
  } else if (request.mode === "navigate" && pathname === "/field") {
    event.respondWith(list(request));
  } else if (request.mode === "navigate" && /^\/field\/./.test(pathname) && !pathname.endsWith("/paper")) {
    event.respondWith(caches.match(SHELL, { cacheName: FILES }).then((found) => found || fetch(request)));
  }
});
