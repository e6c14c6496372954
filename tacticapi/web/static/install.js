// Let the browser keep the pages for when there is no connection, which also lets the page be put on the home screen.

import { root } from "./keep.js";

export function keepPages() {
  if ("serviceWorker" in navigator) navigator.serviceWorker.register(`${root}/offline.js`).catch(() => {});
}
