// Keeps the pages of the current lot on the device. The server puts VERSION and STATIC before these lines; one version, one cache.
/* global VERSION, STATIC */
const CACHE = `filmwright-${VERSION}`, LOTS = "/kept-lots", PATIENCE = 4000;

async function lots() {
  for (const name of [CACHE, ...(await caches.keys())]) {
    const found = await (await caches.open(name)).match(LOTS);
    if (found) return found.json();
  }
  return [];
}

/** Whether an answer is a whole page of this very version, and no sign-in page in its place. */
const ours = (answer) => answer.ok && !answer.redirected && answer.headers.get("x-version") === VERSION;

/** One look at a lot at a time, and not before the server wants the next one: every tap of every tablet would else ask for all of it. */
const looking = new Map();

function keep(lot) {
  if (!looking.has(lot)) looking.set(lot, keepLot(lot).finally(() => looking.delete(lot)));
  return looking.get(lot);
}

async function keepLot(lot) {
  const cache = await caches.open(CACHE), place = `/kept-marks/${lot}`;
  const { marks = {}, count = 0, again = 0 } = (await (await cache.match(place))?.json()) || {};
  if (Date.now() < again) return tell({ kept: lot, pages: count });
  const answer = await fetch(`/lot/${lot}/offline`, { headers: { accept: "application/json" } });
  if (!answer.ok) return;
  const { paths, wait } = await answer.json();
  for (const [path, mark] of paths) {
    if (marks[path] === mark && (await cache.match(path))) continue;
    if (await keepPage(cache, path)) marks[path] = mark;
  }
  const state = { marks, count: paths.length, again: Date.now() + wait * 1000 };
  await cache.put(place, new Response(JSON.stringify(state)));
  const known = new Set(await lots()).add(lot);
  await cache.put(LOTS, new Response(JSON.stringify([...known].slice(-3))));
  await tell({ kept: lot, pages: paths.length });
}

/** Fetch a page and what it shows; whether it is kept now. */
async function keepPage(cache, path) {
  const page = await fetch(path);
  if (!ours(page)) return false;
  await pictures(cache, page.clone());
  await cache.put(path, page);
  return true;
}

/** The drawings that a page shows; their names are their digests, so each is fetched once. */
async function pictures(cache, page) {
  for (const [, path] of (await page.text()).matchAll(/"(\/picture\/[0-9a-f]+\.svg)"/g)) {
    if (await cache.match(path)) continue;
    const found = await fetch(path);
    if (found.ok) await cache.put(path, found);
  }
}

async function tell(what) {
  for (const page of await self.clients.matchAll()) page.postMessage(what);
}

// The old version stays in charge until everything that it kept is there in the new one.
self.addEventListener("install", (event) =>
  event.waitUntil(
    (async () => {
      const cache = await caches.open(CACHE);
      await cache.addAll(STATIC);
      const blank = await fetch("/offline");
      if (blank.ok) await cache.put("/offline", blank);
      for (const lot of await lots()) await keep(lot).catch(() => {});
      await self.skipWaiting();
    })(),
  ),
);

self.addEventListener("activate", (event) =>
  event.waitUntil(
    (async () => {
      for (const name of await caches.keys()) if (name.startsWith("filmwright-") && name !== CACHE) await caches.delete(name);
      await self.clients.claim();
    })(),
  ),
);

self.addEventListener("message", (event) => {
  const { keep: lot, near = [] } = event.data || {};
  if (!lot) return;
  // The step that comes next, and this one for all its wafers, are true even when the network goes with this tap.
  event.waitUntil(caches.open(CACHE).then((cache) => Promise.all(near.map((path) => keepPage(cache, path)))).catch(() => {}));
  event.waitUntil(keep(lot).catch(() => {}));
});

async function stored(request) {
  const cache = await caches.open(CACHE);
  return (await cache.match(request)) || (await cache.match(request, { ignoreSearch: true }));
}

async function page(request, event) {
  const slow = new AbortController();
  const known = await stored(request);
  // A network that hangs is no network, where the page is at hand.
  const timer = known && setTimeout(() => slow.abort(), PATIENCE);
  try {
    const answer = await fetch(request, { signal: slow.signal });
    if ([502, 503, 504].includes(answer.status) && known) return known;
    if (known && ours(answer)) {
      const copy = answer.clone();
      event.waitUntil(caches.open(CACHE).then((cache) => cache.put(request, copy)));
    }
    return answer;
  } catch (trouble) {
    if (known) return known;
    if (request.mode === "navigate") return (await stored("/offline")) || Response.error();
    throw trouble;
  } finally {
    clearTimeout(timer);
  }
}

self.addEventListener("fetch", (event) => {
  const { request } = event, { pathname, origin } = new URL(request.url);
  if (request.method !== "GET" || origin !== self.location.origin || pathname === "/sw.js") return;
  if (pathname.startsWith("/static/") || pathname.startsWith("/picture/"))
    event.respondWith(stored(request).then((found) => found || fetch(request)));
  else event.respondWith(page(request, event));
});
