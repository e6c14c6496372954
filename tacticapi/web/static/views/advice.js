// Advice for the match's current moment: safety first, or alone, then at most what the moment allows.

import { adviceNow, fetchAdvice } from "../advice.js";
import { Refused } from "../api.js";
import { hear } from "../bus.js";
import { documentLink } from "../documents.js";
import { announce, button, h, part } from "../dom.js";
import { enter, post } from "../entries.js";
import { mayRead, momentNow, now, setPlan } from "../match.js";
import { MOMENTS, sentence, sourceWords, timeWords, worthNumbers, worthWords } from "../words.js";
import { safetyLines } from "./safety.js";

export async function adviceScreen(signal, beside = false) {
  const body = h("div");
  const message = h("p", { role: "status" });
  const ask = async (pressed) => {
    message.textContent = "Asking.";
    try {
      await fetchAdvice();
      message.textContent = "";
      if (pressed) announce("The advice is here.");
    } catch (error) {
      message.textContent = error instanceof Refused ? error.message : "Advice will appear when you are back online.";
    }
  };
  const again = button("Ask now", () => ask(true), { class: "quiet" });
  const moment = h("p", { class: "moment" });
  const card = h("div", { class: "noprint" });
  const drawn = {};
  const show = () => {
    const found = { advice: adviceNow(), plan: now.plan?.tactic, moment: momentNow() };
    if (Object.entries(found).every(([name, value]) => drawn[name] === value)) return; // do not lose the reader's place for nothing
    Object.assign(drawn, found);
    if (found.advice && !found.advice.old) message.textContent = "";
    moment.textContent = `Moment: ${MOMENTS[found.moment]}${found.advice ? `. Given at ${timeWords(found.advice.at)}` : ""}`;
    const at = document.activeElement?.closest("[data-tactic]")?.dataset.tactic;
    body.replaceChildren(...(found.advice ? adviceParts(found.advice, beside ? "h3" : "h2") : []));
    if (at) body.querySelector(`[data-tactic="${at}"] > button`)?.focus(); // keyboard users stay where they were
    card.replaceChildren(cardLink());
  };
  hear("advice match score seen", show, signal);
  hear("score", ({ before }) => { if (before && before !== now.moment && isBreak()) ask(false); }, signal);
  show();
  if (!beside || isBreak() || adviceNow()) ask(false);
  const heading = h(beside ? "h2" : "h1", { tabindex: "-1", id: "advice-heading" }, "Advice");
  const section = h("section", { class: "advice", "aria-labelledby": "advice-heading" }, heading, moment, message, body, h("div", { class: "row noprint" }, again, button("Print this page", () => window.print(), { class: "quiet" })), card);
  return [section];
}

// Between points, advice is not requested automatically: a coach who is watching should not have to read.
const isBreak = () => momentNow() !== "between-points";

/** The card goes into the bag if devices are not allowed: it is printed while the event lets advice be read. */
function cardLink() {
  const moment = momentNow();
  if (moment === "after-match") return "";
  if (!mayRead(moment)) return h("p", {}, "The card for the bag can be printed before the match begins.");
  return h("p", {}, documentLink(`/v1/matches/${now.match.id}/card?moment=${moment}`, "card.html", "Print a card for the bag"));
}

function adviceParts(advice, heading) {
  const list = advice.suggestions.map((line) => suggestion(advice, line, heading));
  const first = leading(advice);
  const old = `Older than your last entry: given at ${timeWords(advice.at)}, ${MOMENTS[advice.moment].toLowerCase()}. New advice will appear when you are back online.`;
  return [
    advice.old ? h("p", { class: "notice" }, old) : null,
    ...safetyLines(advice.safety, heading),
    ...notices(advice.notice.slice(0, first)),
    verdict(advice),
    advice.score ? h("p", {}, `${now.moment === "after-match" ? "" : "Next point: "}${advice.score}.`) : null,
    list.length ? h("ol", { class: "plain" }, list) : null,
    advice.plan || advice.safety.length ? null : h("p", {}, h("a", { class: "block", href: `#/m/${now.match.id}/watch` }, "Note what you see"), " It counts as soon as advice is permitted."),
    list.length || advice.safety.length || !advice.plan ? null : h("p", {}, "Nothing to change: keep playing as you are."),
    changes(advice.changed, heading),
    ...notices(advice.notice.slice(first)),
  ].filter(Boolean);
}

const JUNIOR = ["U12", "U14", "U18"];

const notices = (texts) => texts.map((words) => h("p", { class: "notice" }, h("strong", {}, "Please note: "), words));

/** How many notices come before the advice: those on what the event permits, or all if nothing else may be shown. */
function leading(advice) {
  const { coaching = "unknown", device = "unknown", age_band: band } = now.match.context;
  if (!advice.plan) return advice.notice.length;
  if (coaching !== "unknown" && device !== "unknown") return 0;
  return JUNIOR.includes(band) ? 2 : 1;
}

function verdict(advice) {
  if (!advice.plan) return null;
  const { verdict: word, why } = advice.plan;
  if (!now.plan && word === "keep") return h("p", { class: "verdict" }, h("strong", {}, "No plan chosen yet."), " Choose one below, or play your own game.");
  return h("p", { class: "verdict" }, h("strong", {}, PLAN[word]), ` ${sentence(why)}`);
}

export const PLAN = { keep: "Keep the plan.", adjust: "Adjust the plan.", change: "Change the plan." };

/** Play this from now on, on every phone. */
export function choosePlan(advice, line) {
  setPlan({ tactic: line.tactic, title: line.title, say: line.say });
  enter(now.match.id, "tries", { tactic: line.tactic, tried: 0, won: 0 }, `Plan: ${line.title}`);
  post(now.match.id, "feedback", `/v1/advice/${advice.advice_id}/feedback`, { tactic: line.tactic, kind: "used" }, `Plan: ${line.title}`);
  announce(`The plan is now: ${line.title}`);
}

function suggestion(advice, line, heading) {
  const words = now.plan?.tactic === line.tactic ? "Playing this" : "Play this";
  const chosen = now.plan?.tactic === line.tactic;
  return h(
    "li",
    { class: "suggestion", "data-tactic": line.tactic },
    h(heading, {}, line.say),
    h("p", { class: "tally" }, line.title, chosen ? h("strong", {}, " This is the plan.") : null),
    h("ul", {}, line.because.map((reason) => h("li", {}, reason.text))),
    line.worth ? h("p", {}, worthWords(line.worth)) : null,
    h("p", {}, h("strong", {}, "Not if: "), line.not_if),
    h("p", {}, line.stop_when),
    line.caution ? h("p", { class: "notice" }, h("strong", {}, "Caution: "), line.caution) : null,
    now.moment === "after-match" ? null : button(words, () => choosePlan(advice, line), { "aria-pressed": String(chosen), "aria-label": `${words}: ${line.title}` }),
    h("p", { class: "source" }, `Risk: ${line.risk}. Source: ${line.sources.map(sourceWords).join("; ")}`),
    h(
      "details",
      {},
      h("summary", {}, line.worth ? "Why it works, and the numbers" : "Why it works"),
      h("p", {}, line.why),
      line.worth ? h("p", {}, worthNumbers(line.worth)) : null,
      line.coaches_differ ? h("p", {}, line.coaches_differ) : null,
    ),
  );
}

function changes(changed, heading) {
  if (!changed.length) return null;
  return h("div", {}, h(heading, {}, "What changed since the last advice"), h("ul", {}, changed.map((each) => h("li", {}, each.text))));
}

/** The plan in words, if it may be read now. */
export function planWords() {
  if (!now.plan) return "No plan chosen yet: choose one under Advice.";
  return mayRead() ? now.plan.say : "The plan is hidden for now: the event does not permit it.";
}
