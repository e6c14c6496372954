// The pages themselves while there is no connection: each file comes from the service where it can, else as it came last.
// What the API answers is never kept here, and neither is the demo.

const KEPT = "pages";
const PAGES = ["/", "/match", "/guide", "/guide/coach", "/guide/secretary"];
const ours = (path) => PAGES.includes(path) || path.startsWith("/static/") || path === "/manifest.webmanifest";

self.addEventListener("install", (event) => {
  self.skipWaiting();
  event.waitUntil(keepAll());
});
self.addEventListener("activate", (event) => event.waitUntil(forgetOlder().then(() => self.clients.claim())));
self.addEventListener("fetch", (event) => {
  const { pathname, origin } = new URL(event.request.url);
  if (origin === location.origin && ours(pathname) && event.request.method === "GET") event.respondWith(newestOrKept(event.request));
});

/** The pages name all their files, so they are kept by what they name. */
async function keepAll() {
  const kept = await caches.open(KEPT);
  await Promise.all(PAGES.map(async (address) => {
    const page = await fetch(address);
    const text = await page.clone().text();
    await kept.put(address, page);
    await kept.addAll(new Set([...text.matchAll(/(?:href|src)="(\/(?:static\/|manifest)[^"]+)"/g)].map((found) => found[1])));
  }));
}

async function forgetOlder() {
  for (const name of await caches.keys()) if (name !== KEPT) await caches.delete(name);
}

async function newestOrKept(request) {
  const kept = await caches.open(KEPT);
  try {
    const answer = await fetch(request);
    if (answer.status >= 500) throw new Error(answer.statusText);
    if (answer.ok && !answer.redirected) await kept.put(request, answer.clone());
    return answer;
  } catch {
    return (await kept.match(request, { ignoreSearch: true })) ?? Response.error();
  }
}
