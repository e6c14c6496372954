// The page itself while there is no connection: each file comes from the service where it can, else as it came last. What
// the API answers is never kept here.

const KEPT = "match-page";

self.addEventListener("install", (event) => {
  self.skipWaiting();
  event.waitUntil(keepAll());
});
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));
self.addEventListener("fetch", (event) => {
  const { pathname, origin } = new URL(event.request.url);
  const ours = origin === location.origin && (pathname === "/match-page" || pathname.startsWith("/match-page/"));
  if (ours && event.request.method === "GET") event.respondWith(newestOrKept(event.request));
});

/** The page names all its files, so they are kept by what it names. */
async function keepAll() {
  const kept = await caches.open(KEPT);
  const page = await fetch("/match-page");
  const text = await page.clone().text();
  await kept.put("/match-page", page);
  await kept.addAll(new Set([...text.matchAll(/(?:href|src)="(\/match-page\/[^"]+)"/g)].map((found) => found[1])));
}

async function newestOrKept(request) {
  const kept = await caches.open(KEPT);
  try {
    const answer = await fetch(request);
    if (answer.status >= 500) throw new Error(answer.statusText);
    if (answer.ok) await kept.put(request, answer.clone());
    return answer;
  } catch {
    return (await kept.match(request, { ignoreSearch: true })) ?? Response.error();
  }
}
