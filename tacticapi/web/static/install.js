// Let the browser keep the pages for when there is no connection, which also lets the page be put on the home screen.

export function keepPages() {
  if ("serviceWorker" in navigator) navigator.serviceWorker.register("/offline.js").catch(() => {});
}
