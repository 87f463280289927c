// Whoever signs in next at this browser finds no list that was kept for when there is no connection.
if ("caches" in window) for (const name of await caches.keys()) await caches.delete(name);
