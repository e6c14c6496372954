// API pages to read or print: the card, the debrief. A plain link carries no token, so if one is needed, the page is
// fetched with it and saved as a file.

import { addressOf, ask, token } from "./api.js";
import { announce, h } from "./dom.js";

/** A link to such a page, saved under a name. */
export const documentLink = (path, name, words) => h("a", { class: "block", href: addressOf(path), "data-path": path, "data-document": name }, words);

/** Let these links carry the token. */
export function carryToken() {
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[data-document]");
    if (!link || !token.get()) return;
    event.preventDefault();
    save(link.dataset.path, link.dataset.document).catch((error) => announce(error.message || "It will be available when you are back online."));
  });
}

async function save(address, name) {
  const { body } = await ask("GET", address, { accept: "text/html" });
  const made = URL.createObjectURL(new Blob([body], { type: "text/html" }));
  h("a", { href: made, download: name }).click();
  setTimeout(() => URL.revokeObjectURL(made), 60_000);
}
