// The worker of /m/: keeps the shell, the run sheet and its cards, and shows them without signal. The view puts HARDSTAND above:
// build, day, today, offline, shell. It never touches what is being sent; outbox.js does that.
"use strict";
const SHELL = `hardstand-shell-${HARDSTAND.build}`;
const PAGES = "hardstand-pages-"; // and the person's number: one person's sheets at a time
const AFTER_WRITING = 15_000, PATIENCE = 4_000, AN_HOUR = 3_600_000;
let wroteAt = 0;

const fetchPlain = (url, options = {}) => fetch(url, { credentials: "same-origin", redirect: "manual", cache: "no-store", ...options });

self.addEventListener("install", (event) => {
  event.waitUntil((async () => {
    const cache = await caches.open(SHELL);
    await cache.addAll(HARDSTAND.shell.map((url) => new Request(url, { cache: "reload" })));
    const offline = await fetchPlain(HARDSTAND.offline, { credentials: "omit" }); // asked for by nobody, so it names nobody
    if (!offline.ok) throw new Error("the offline page did not come");
    await cache.put(HARDSTAND.offline, offline);
    await self.skipWaiting();
  })());
});

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    const old = (await caches.keys()).filter((name) => name.startsWith("hardstand-shell-") && name !== SHELL);
    await Promise.all(old.map((name) => caches.delete(name)));
    await self.clients.claim();
  })());
});

/* ---- what is kept ---- */

const pageCaches = async () => (await caches.keys()).filter((name) => name.startsWith(PAGES));
// who.js tells from every page outside /m/ who is signed in: when it is somebody else or nobody, the kept sheets go.
// What waits in the outbox stays.
const dropOthers = async (user) => {
  const others = (await pageCaches()).filter((name) => name !== PAGES + user);
  await Promise.all(others.map((name) => caches.delete(name)));
};

const findKept = async (url, ignoreSearch) => {
  const [name] = await pageCaches();
  return name && (await caches.open(name)).match(url, { ignoreVary: true, ignoreSearch });
};

// A page's owner stands in its own text. No owner: a sign-in page, a fault, a stranger's portal; such a page is never kept.
const ownerOf = (text) => /<meta name="hardstand-user" content="(\d+)"/.exec(text)?.[1];
const steady = (text) => text.replace(/((?:csrfmiddlewaretoken|op_uid)" value="|data-made=")[^"]*/g, "$1");

// Keeps a page with its mark, and since when it says what it says: the moment it was made when it last changed.
const keep = async (url, etag, before) => {
  const response = await fetchPlain(url);
  const html = response.headers.get("Content-Type")?.startsWith("text/html");
  if (response.status !== 200 || response.type !== "basic" || response.redirected || !html) return before;
  const text = await response.text(), owner = ownerOf(text);
  if (!owner) return before;
  await dropOthers(owner);
  const same = before && steady(await before.clone().text()) === steady(text);
  const headers = new Headers(response.headers);
  ["Content-Encoding", "Content-Length"].forEach((name) => headers.delete(name));
  headers.set("X-Etag", etag);
  headers.set("X-At", Date.now());
  headers.set("X-Since", same ? before.headers.get("X-Since") : /data-made="([^"]+)"/.exec(text)[1]);
  const kept = new Response(text, { headers });
  await (await caches.open(PAGES + owner)).put(url, kept.clone());
  return kept;
};

const current = (kept, etag) => kept?.headers.get("X-Etag") === etag && Date.now() - kept.headers.get("X-At") < AN_HOUR;

// Brings the kept pages in line with the office's list. Says since when each page says what it says.
const keepToday = async () => {
  const answer = await fetchPlain(HARDSTAND.today), since = {};
  if (!answer.ok) return since;
  const { user, keep: wanted } = await answer.json();
  await dropOthers(user);
  const cache = await caches.open(PAGES + user), paths = wanted.map(({ url }) => url);
  for (const { url } of await cache.keys()) if (!paths.includes(new URL(url).pathname)) await cache.delete(url, { ignoreVary: true });
  for (const { url, etag } of wanted) {
    const kept = await cache.match(url, { ignoreVary: true });
    since[url] = (current(kept, etag) ? kept : await keep(url, etag, kept))?.headers.get("X-Since");
  }
  return since;
};

/* ---- what is asked ---- */

const soon = (promise, ms) => Promise.race([promise, new Promise((_, fail) => setTimeout(fail, ms))]);

// Kept pages first. Right after something was written the office's page first, so that a button shows what it did.
const navigate = async (request) => {
  const kept = await findKept(request.url);
  if (kept && Date.now() - wroteAt > AFTER_WRITING) return kept;
  try {
    return await (kept ? soon(fetch(request), PATIENCE) : fetch(request));
  } catch {
    return await findKept(request.url, true) ?? (await caches.open(SHELL)).match(HARDSTAND.offline);
  }
};

self.addEventListener("fetch", (event) => {
  const { request } = event, { origin, pathname } = new URL(request.url);
  if (origin !== location.origin) return;
  if (request.method !== "GET") {
    if (!pathname.startsWith(`${HARDSTAND.day}sync/`)) wroteAt = Date.now();
  } else if (request.mode === "navigate") event.respondWith(navigate(request));
  else if (HARDSTAND.shell.includes(pathname)) {
    event.respondWith((async () => await (await caches.open(SHELL)).match(pathname) ?? fetch(request))());
  }
});

self.addEventListener("message", (event) => {
  const { data, ports: [told] } = event;
  event.waitUntil(data === "keep" ? keepToday().then((since) => told.postMessage(since)).catch(() => {}) : dropOthers(data.user));
});
