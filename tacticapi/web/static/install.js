// Let the browser store the pages for offline use, which also lets them be added to the home screen.

import { root } from "./keep.js";

export function keepPages() {
  if ("serviceWorker" in navigator) navigator.serviceWorker.register(`${root}/offline.js`).catch(() => {});
}
