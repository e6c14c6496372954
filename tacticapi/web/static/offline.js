// The pages for offline use: each file comes from the service if possible, else from the last copy.
// API responses are never stored here, and neither is the demo.

const root = new URL(".", location).pathname.slice(0, -1); // the path at which the service is hosted
const KEPT = `pages${root}`;
const PAGES = ["/", "/match", "/guide", "/guide/coach", "/guide/secretary"];
const FILES = new RegExp(`(?:href|src)="(${root}/(?:static/|manifest)[^"]+)"`, "g");
const ours = (path) => PAGES.some((page) => path === root + page) || path.startsWith(`${root}/static/`) || path === `${root}/manifest.webmanifest`;

self.addEventListener("install", (event) => {
  self.skipWaiting();
  event.waitUntil(keepAll());
});
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));
self.addEventListener("fetch", (event) => {
  const { pathname, origin } = new URL(event.request.url);
  if (origin === location.origin && ours(pathname) && event.request.method === "GET") event.respondWith(newestOrKept(event.request));
});

/** The pages name all their files, so those files are the ones to store. */
async function keepAll() {
  const kept = await caches.open(KEPT);
  await Promise.all(PAGES.map(async (address) => {
    const page = await fetch(root + address);
    const text = await page.clone().text();
    await kept.put(root + address, page);
    await kept.addAll(new Set([...text.matchAll(FILES)].map((found) => found[1])));
  }));
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
