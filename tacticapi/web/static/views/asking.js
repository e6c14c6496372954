// The most valuable question, beside the pad and above the list: one at a time, replaced only on request or after a pause.

import { fetchLooks } from "../advice.js";
import { Refused } from "../api.js";
import { hear } from "../bus.js";
import { button, h } from "../dom.js";
import { kindOf } from "../kinds.js";
import { now } from "../match.js";
import { questionCard } from "../question.js";
import { safetyLines } from "./safety.js";

const CALM_MS = 8000; // since the last tap: nothing changes under a thumb
const MAX_OPTIONS = 5;

/** Whether a question can be answered with one tap in one row. */
const fits = (kind) => kind && !["amount", "text"].includes(kind.ways[0]) && (!["value", "counts"].includes(kind.ways[0]) || kind.options.length <= MAX_OPTIONS);

/** `skip`: kinds that the pad beside it asks about. */
export function askingPart(signal, { clock = null, skip = new Set() } = {}) {
  const place = h("div");
  const message = h("p", { role: "status" });
  let at = 0;
  let tapped = 0;
  let card = null;

  const show = () => {
    const looks = (now.looks ?? []).filter((look) => fits(kindOf(look.what)) && !skip.has(look.what));
    const look = looks[at % looks.length];
    if (now.looks) message.textContent = look ? "" : "Nothing more to look for now.";
    if (look?.what === card?.dataset.kind) return;
    card = look ? questionCard(kindOf(look.what), { brief: true }) : null;
    place.replaceChildren(...(card ? [card] : []));
  };
  const ask = async (pressed = false) => {
    if (!pressed && Date.now() - tapped < CALM_MS) return;
    try {
      await fetchLooks(clock ? clock.minutes() : null);
      at = 0;
    } catch (error) {
      message.textContent = error instanceof Refused ? error.message : "What to look for will appear when you are back online.";
    }
  };
  const next = () => {
    at += 1;
    if (at >= (now.looks ?? []).length) ask(true);
    else show();
  };
  hear("queue", ({ kind }) => { if (kind === "added") tapped = Date.now(); }, signal);
  hear("seen match", () => card?.refresh(), signal);
  hear("minute", () => ask(), signal);
  const safety = h("div");
  hear("looks", ({ notice, safety: lines }) => {
    safety.replaceChildren(...safetyLines(lines, "h3"));
    show();
    if (!now.looks.length && notice.length) message.textContent = notice[0];
  }, signal);
  const begin = () => (now.looks ? show() : ask(true));
  hear("kept others match step", begin, signal);
  begin();
  const other = button("›", next, { class: "quiet", "aria-label": "Another question" });
  return h("section", { class: "looks", "aria-label": "What to look for next" }, safety, place, message, other);
}
