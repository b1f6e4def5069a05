// All or nothing, then from the cache only; the cached answer is handed on as it came, headers and all.
const files = ['/', '/page.js', '/worker.js', '/kdf.js', '/kdf_bg.wasm'];
oninstall = (event) => event.waitUntil(caches.open('a').then((cache) => cache.addAll(files)));
onactivate = (event) => event.waitUntil(clients.claim());
onfetch = (event) => event.respondWith(caches.match(event.request).then((found) => found ?? fetch(event.request)));
