/* Keeps the hand pages on the device. Everything is fetched from the workshop first; what was kept is shown only when
   the network is away or too slow. A page is kept if the workshop says so in its answer (X-Keep). */
"use strict";
const ASSETS = [{% for asset in assets %}"{{ asset|escapejs }}"{% if not forloop.last %}, {% endif %}{% endfor %}];
const KEPT_ASSETS = "assets-{{ version }}";
const KEPT_PAGES = "pages";
const PATIENCE_MS = 5000;

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(KEPT_ASSETS).then((kept) => kept.addAll(ASSETS)).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  event.waitUntil(caches.keys()
    .then((names) => Promise.all(names.filter((name) => name.startsWith("assets-") && name !== KEPT_ASSETS).map((name) => caches.delete(name))))
    .then(() => self.clients.claim()));
});

const bare = (address) => { const url = new URL(address, self.location); return url.origin + url.pathname; };

const keep = async (response, address) => {
  if (!response.ok || response.redirected || response.headers.get("X-Keep") !== "yes") return;
  const kept = await caches.open(KEPT_PAGES);
  await kept.put(bare(address), response);
};

const fromWorkshop = async (request) => {
  const response = await fetch(request);
  const address = new URL(request.url);
  if (ASSETS.includes(address.pathname)) {
    if (response.ok) { const copy = response.clone(); caches.open(KEPT_ASSETS).then((kept) => kept.put(address.pathname, copy)); }
  } else await keep(response.clone(), request.url);
  return response;
};

const fromDevice = async (request) => (await caches.match(request.url, { ignoreVary: true })) || caches.match(bare(request.url), { ignoreVary: true });

const answer = async (request) => {
  const asked = fromWorkshop(request);
  asked.catch(() => null);
  const kept = await fromDevice(request);
  if (!kept) return asked;
  const patience = new Promise((resolve) => setTimeout(() => resolve(kept.clone()), PATIENCE_MS));
  return Promise.race([asked.catch(() => kept), patience]);
};

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const address = new URL(request.url);
  if (request.method !== "GET" || address.origin !== self.location.origin) return;
  const isPage = request.mode === "navigate" || request.headers.get("X-Keep-This") === "yes";
  if (isPage || ASSETS.includes(address.pathname)) event.respondWith(answer(request));
});

self.addEventListener("message", (event) => {
  const { keep: addresses, forget } = event.data || {};
  if (forget) event.waitUntil(caches.delete(KEPT_PAGES));
  if (addresses) {
    event.waitUntil(Promise.all(addresses.map(async (address) => {
      try { await keep(await fetch(address, { credentials: "same-origin" }), address); } catch { /* another time */ }
    })).then(() => event.source && event.source.postMessage({ kept: addresses.length })));
  }
});
