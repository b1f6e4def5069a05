// The way back from a bad build. Deployed in the place of sw.js (see DEPLOY.txt) it takes over at
// once, drops the program's caches, signs itself off and answers nothing, so that the next load
// comes from the server. It does not reload a page by itself, and it never touches what was
// recorded: that lies in the browser's databases, which it does not name.
"use strict";
self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil((async () => {
  const names = await caches.keys();
  await Promise.all(names.filter((name) => name.startsWith("pinfold-")).map((name) => caches.delete(name)));
  await self.registration.unregister();
})()));
