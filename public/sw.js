// Pinfold's service worker: serves one build, whole, from its own cache, and never changes it under
// an open page. It sees the files of the program only, never a person's data.
//
// `pinfold-house finish` replaces the two constants. FILES is the whole list of what the build needs
// with the SHA-256 of each; BUILD is the hash of that list. A changed file therefore changes this
// script, which is how a browser notices that there is a new build.
//
// A browser puts a waiting worker in charge by itself once every page is gone, so also when it is
// killed with needles in. Which build is *served* is therefore a thing of its own, written down in a
// small cache: only a person's press changes it. A newer worker in charge goes on serving the build
// that was chosen, from that build's cache, and tells the page who it is.
"use strict";
const BUILD = "unfinished";
const FILES = {};

const CACHE = "pinfold-" + BUILD;
const SHELL = "/";
const CHOICE = "pinfold-choice";
const CHOSEN = "/chosen-build";

// The build that is served: the chosen one while its files are there, else this one.
let serving = null;
async function served() {
  const written = await caches.match(CHOSEN, { cacheName: CHOICE });
  const chosen = written ? await written.text() : BUILD;
  return chosen !== BUILD && await caches.match(SHELL, { cacheName: "pinfold-" + chosen }) ? chosen : BUILD;
}

async function choose() {
  await (await caches.open(CHOICE)).put(CHOSEN, new Response(BUILD));
  serving = Promise.resolve(BUILD);
}

// All or nothing: each file is fetched past the HTTP cache and compared with its hash before any is
// kept. The first miss rejects, the browser throws this worker away, and the old one goes on.
async function install() {
  const got = await Promise.all(Object.entries(FILES).map(async ([path, hash]) => {
    const answer = await fetch(path, { cache: "reload", credentials: "omit", redirect: "error" });
    if (answer.status !== 200) throw new Error(`${path}: status ${answer.status}`);
    const kept = answer.clone();
    const digest = await crypto.subtle.digest("SHA-256", await answer.arrayBuffer());
    const hex = Array.from(new Uint8Array(digest), (byte) => byte.toString(16).padStart(2, "0")).join("");
    if (hex !== hash) throw new Error(`${path}: not the file of this build`);
    return [path, kept];
  }));
  if (got.length === 0) throw new Error("an unfinished build");
  try {
    const cache = await caches.open(CACHE);
    // The answer itself is kept, never a rebuilt one: its type stays right, and so does the browser's
    // store of compiled code.
    for (const [path, answer] of got) await cache.put(path, answer);
  } catch (error) {
    await caches.delete(CACHE);
    throw error;
  }
}

// Other builds' caches go only when no page of another build can still be running, and never while
// a newer build is being fetched or waits: its cache is one of the others.
async function tidy(askedBy) {
  const spared = [CACHE, CHOICE, "pinfold-" + await served()];
  const others = (await caches.keys()).filter((name) => name.startsWith("pinfold-") && !spared.includes(name));
  if (others.length === 0) return;
  const windows = await self.clients.matchAll({ type: "window", includeUncontrolled: true });
  if (windows.some((window) => window.id !== askedBy)) return;
  if (self.registration.installing || self.registration.waiting) return;
  await Promise.all(others.map((name) => caches.delete(name)));
}

function refuse(status, words) {
  return new Response(words + "\n", {
    status,
    headers: { "Content-Type": "text/plain; charset=utf-8", "Content-Security-Policy": "default-src 'none'", "X-Content-Type-Options": "nosniff" },
  });
}

async function answer(request, path, plain) {
  serving ??= served();
  const cacheName = "pinfold-" + await serving;
  const kept = plain && await caches.match(path, { cacheName });
  if (kept) return kept;
  const shell = request.mode === "navigate" && await caches.match(SHELL, { cacheName });
  if (shell) return shell;
  // The cache was cleared under this worker. Then nothing of the build is left, and the server's
  // files, which belong together, are the way back.
  if (request.mode === "navigate" || (plain && Object.hasOwn(FILES, path))) return fetch(request);
  // A file that is not of this build gets an error, never the shell: HTML read as code says nothing.
  return refuse(404, "Not part of this build.");
}

self.addEventListener("install", (event) => event.waitUntil(install()));

// The first build of a phone is its choice; a later one waits for a press.
self.addEventListener("activate", (event) => event.waitUntil((async () => {
  if (await served() === BUILD) await choose();
  await tidy(null);
})()));

self.addEventListener("message", (event) => {
  const { type, build } = event.data || {};
  // A person accepted in the page, and nothing was open.
  if (type === "take-over") {
    event.waitUntil((async () => {
      await choose();
      await self.skipWaiting();
      if (event.source) event.source.postMessage({ type: "taken", build: BUILD });
    })());
  }
  if (type === "which" && event.source) event.source.postMessage({ type: "build", build: BUILD });
  // From a page after its start; one of another build (a window left open) must not clear the way.
  if (type === "tidy" && build === BUILD && event.source) event.waitUntil(tidy(event.source.id));
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== self.location.origin) return; // the policy of the page stops these
  const plain = request.method === "GET" && (url.search === "" || request.mode === "navigate");
  event.respondWith(answer(request, url.pathname, plain));
});
