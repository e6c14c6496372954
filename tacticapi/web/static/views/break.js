// The plan at a break, readable at a glance: the verdict, one sentence, one reason, when to stop, and one picture.

import { adviceNow, fetchAdvice } from "../advice.js";
import { hear } from "../bus.js";
import { button, h } from "../dom.js";
import { mayRead, momentNow, now } from "../match.js";
import { MOMENTS, sentence, timeWords } from "../words.js";
import { PLAN, choosePlan } from "./advice.js";
import { safetyLines } from "./safety.js";

const CALM_MS = 800;

/** Covers the pad until `leave` is called, and redraws itself after every entry. */
export function breakPart(signal, leave) {
  const body = h("div", { class: "told", tabindex: "0", role: "group", "aria-label": "The plan" }); // it scrolls on a small phone
  const ways = h("div", { class: "row" });
  const back = button("Back to the score", () => back.getAttribute("aria-disabled") || leave(), { class: "main", "aria-disabled": "true" });
  setTimeout(() => back.removeAttribute("aria-disabled"), CALM_MS); // a point tapped twice does not mean "go back"
  const link = (words, name) => h("a", { class: "block quiet", href: `#/m/${now.match.id}/${name}` }, words);
  let drawn = null;
  const show = () => {
    const advice = mayRead() ? adviceNow() : null;
    const line = advice && lineOf(advice);
    const of = JSON.stringify([advice, now.plan?.tactic, mayRead()]);
    if (of === drawn) return; // do not lose the reader's place for nothing
    drawn = of;
    body.replaceChildren(...parts(advice, line));
    ways.replaceChildren(
      ...(line && line.tactic !== now.plan?.tactic ? [button("Play this", () => choosePlan(advice, line))] : []),
      ...(line ? [button("Show the player", () => showPlayer(line, signal))] : []),
      ...(advice ? [link("Details", "advice")] : []),
      link("Note what you saw", "watch"),
    );
  };
  hear("advice match", show, signal);
  show();
  fetchAdvice().catch(() => {});
  const heading = h("h2", { tabindex: "-1" }, now.deciding ? "Deciding point" : MOMENTS[momentNow()]);
  return h("section", { class: "break", "aria-label": "The plan now" }, heading, body, ways, back);
}

/** What to read out: the plan while it is kept, else what to switch to. */
function lineOf({ plan, suggestions }) {
  const named = plan?.verdict === "keep" ? now.plan?.tactic : plan?.next;
  return suggestions.find((line) => line.tactic === named) ?? suggestions[0] ?? null;
}

function parts(advice, line) {
  if (!mayRead()) return [h("p", { class: "notice" }, "The event does not permit advice now. Note what you see: it counts as soon as advice is permitted.")];
  if (!advice) return [h("p", { role: "status" }, "The advice will appear when you are back online.")];
  const { plan } = advice;
  return [
    advice.old ? h("p", { class: "notice" }, `Given at ${timeWords(advice.at)}, ${MOMENTS[advice.moment].toLowerCase()}. New advice will appear when you are back online.`) : null,
    ...safetyLines(advice.safety, "h3"),
    ...(line ? [] : advice.notice.map((words) => h("p", { class: "notice" }, words))),
    plan ? h("p", { class: "verdict" }, h("strong", {}, now.plan ? PLAN[plan.verdict] : "A plan to start with"), now.plan ? ` ${sentence(plan.why)}` : "") : null,
    ...(line ? planParts(line) : [h("p", {}, "Nothing to change: keep playing as you are.")]),
  ].filter(Boolean);
}

function planParts(line) {
  return [
    h("p", { class: "say" }, line.say),
    line.because?.length ? h("p", {}, h("strong", {}, "Why: "), line.because[0].text) : null,
    line.stop_when ? h("p", {}, line.stop_when) : null,
    line.caution ? h("p", {}, h("strong", {}, "Caution: "), line.caution) : null,
    line.picture ? h("img", { src: line.picture, alt: `Where on the court: ${line.title}` }) : null,
  ];
}

/** The plan alone, in letters large enough to read from the far end of a bench. */
function showPlayer(line, signal) {
  const close = button("Close", () => dialog.close());
  const picture = line.picture ? h("img", { src: line.picture, alt: "" }) : null;
  const dialog = h("dialog", { class: "large", "aria-label": "For the player", onclose: () => dialog.remove() }, h("p", {}, line.say), picture, close);
  signal.addEventListener("abort", () => dialog.close()); // a danger sign that arrives must not be covered
  document.body.append(dialog);
  dialog.showModal();
}
