// After the last point: end the match, read what can be learned from it, save the pages.

import { Refused, ask } from "../api.js";
import { hear } from "../bus.js";
import { documentLink } from "../documents.js";
import { button, h, part } from "../dom.js";
import { now } from "../match.js";
import { many, scoreWords } from "../words.js";
import { endPart } from "./finish.js";

export async function afterScreen(signal) {
  const body = h("div");
  const show = () => {
    body.replaceChildren(...(now.match.status === "ended" ? ended() : [endPart(now.match.id, signal)]));
  };
  hear("match", () => {
    show();
    if (document.activeElement === document.body) document.querySelector("h1").focus();
  }, signal);
  show();
  return [h("h1", { tabindex: "-1" }, "Debrief"), h("p", {}, scoreWords(now.score, now.names)), body];
}

function ended() {
  const address = `/v1/matches/${now.match.id}/debrief`;
  const told = h("div");
  const message = h("p", { role: "status" }, "Loading the debrief.");
  ask("GET", address).then(
    ({ body }) => {
      message.textContent = "";
      told.append(...debriefParts(body));
    },
    (error) => { message.textContent = error instanceof Refused ? error.message : "The debrief will appear when you are back online."; },
  );
  const links = h(
    "p",
    { class: "row noprint" },
    documentLink(address, "debrief.html", "Open the full debrief"),
    button("Print this page", () => window.print(), { class: "quiet" }),
  );
  return [message, told, links];
}

function debriefParts(debrief) {
  const begin = debrief.begin_with.map((one) => h("li", {}, h("strong", {}, `${one.title}. `), `${one.say} `, because(one.because), one.stop_when));
  const tactics = debrief.tactics.map((line) => h("li", {}, h("strong", {}, `${line.title}: `), tried(line)));
  const surprises = debrief.surprises.map((move) => h("li", {}, h("strong", {}, `${move.title}: `), `${percent(move.start)} before, ${percent(move.end)} after: ${move.because.join("; ")}`));
  const listed = (words, items, none) => part(words, {}, items.length ? h("ul", {}, items) : h("p", {}, none));
  return [
    listed("Start with this next time", begin, "Nothing stands out: start as you did today."),
    listed("Suggested and tried", tactics, "Nothing was suggested or tried."),
    listed("Surprises", surprises, "No belief changed much."),
    listed("Please note", debrief.notice.map((words) => h("li", {}, words)), ""),
  ];
}

const percent = (chance) => `${Math.round(chance * 100)}%`;
const because = (reasons) => (reasons.length ? `Because: ${reasons.join("; ")}. ` : "");
const tried = ({ suggested, tries }) => `suggested ${suggested === 1 ? "once" : many(suggested, "time")}; ${tries.of ? `tried ${tries.of}, won ${tries.won}` : "not tried"}.`;
