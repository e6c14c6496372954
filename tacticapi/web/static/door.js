// The pages outside a match: this device's open match is one tap away, and the pages open without a connection.

import { h } from "./dom.js";
import * as keep from "./keep.js";
import { keepPages } from "./install.js";

const box = document.getElementById("go-on");
const running = keep.names("match/").map((name) => [name.slice("match/".length), keep.read(name)]).filter(([, kept]) => kept?.names);
if (box && running.length) {
  const links = running.map(([id, { names }]) => h("a", { class: "block main", href: `${keep.root}/match#/m/${id}` }, `Continue: ${names.own} and ${names.opponent}`));
  box.append(...links);
  box.hidden = false;
}
keepPages();
