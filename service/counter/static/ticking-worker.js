// Keeps every list to tick that was opened, with what it is made of, for when there is no connection.
const KEPT = "lapstock-ticking-1";

/** @param {URL} address */
const isKept = (address) => /^\/plans\/[^/]+\/list$/.test(address.pathname) || address.pathname.startsWith("/counter/");

/** @param {Request} request */
async function answer(request) {
  const kept = await caches.open(KEPT);
  try {
    const fresh = await fetch(request);
    if (fresh.ok) await kept.put(request, fresh.clone());
    return fresh;
  } catch (error) {
    const old = await kept.match(request);
    if (old) return old;
    throw error;
  }
}

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));
self.addEventListener("fetch", (event) => {
  if (event.request.method === "GET" && isKept(new URL(event.request.url))) event.respondWith(answer(event.request));
});
