// The end of a match: confirmed twice, held on this device for some seconds so that it can be taken back, then sent for good.

import { hear, tell } from "../bus.js";
import { announce, button, h, part } from "../dom.js";
import { post } from "../entries.js";
import * as keep from "../keep.js";

const WAITS_MS = 20_000; // what is deleted at the end, health notes above all, cannot be restored
const NAME = "finish/";
const PLAY = ["points", "tries", "observations"];

const isEnding = (id) => keep.read(NAME + id) !== null;

function send(id) {
  keep.drop(NAME + id);
  post(id, "end", `/v1/matches/${id}/end`, undefined, "The match has ended");
  announce("The match has ended."); // it can no longer be taken back
  tell("finish");
}

/** Send the ends that have waited long enough, including those from a page that was closed. */
function sendDue() {
  for (const name of keep.names(NAME)) {
    if (Date.now() - keep.read(name) >= WAITS_MS) send(name.slice(NAME.length));
  }
}

function goOn(id, words) {
  keep.drop(NAME + id);
  announce(words);
  tell("finish");
}

/** How a match is ended: a question, then a time in which the end can be taken back. */
export function endPart(id, signal) {
  let asks = false;
  const box = h("div");
  const yes = () => {
    asks = false;
    keep.write(NAME + id, Date.now());
    announce("The match has ended. You can take it back.");
    tell("finish");
  };
  const ask = (open) => {
    asks = open;
    show();
    box.querySelector("button").focus(); // the pressed button is gone
  };
  const show = () => {
    if (isEnding(id)) box.replaceChildren(h("p", {}, h("strong", {}, "The match has ended."), " The debrief will open in a few seconds. Until then, you can take this back."), h("div", { class: "row" }, button("To the debrief", () => send(id), { class: "main" }), button("Take it back, the match goes on", () => goOn(id, "The match goes on."))));
    else if (asks) box.replaceChildren(h("p", {}, h("strong", {}, "Is the match over?"), " After that, no more points can be entered, and health notes are deleted for good."), h("div", { class: "row" }, button("Yes, it is over", yes, { class: "main" }), button("No, it goes on", () => ask(false))));
    else box.replaceChildren(h("p", {}, "Once the match has ended, you can read the debrief: what was played, what it won, and what to start with next time."), button("End the match", () => ask(true), { class: "main" }));
  };
  hear("finish", () => {
    const had = box.contains(document.activeElement);
    show();
    if (had) box.querySelector("button").focus();
  }, signal);
  show();
  return part("The end", {}, box);
}

hear("queue", ({ kind, item }) => {
  if (kind === "added" && PLAY.includes(item.noun) && isEnding(item.match)) goOn(item.match, "The match goes on because something was entered.");
});
setInterval(sendDue, 1000);
sendDue();
