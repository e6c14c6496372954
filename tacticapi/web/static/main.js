// Which screen is shown: the address says so, so that a reloaded page is where it was.

import { check, checkMissed } from "./advice.js";
import { Refused, Unreachable } from "./api.js";
import { hear, tell } from "./bus.js";
import { carryToken } from "./documents.js";
import { h } from "./dom.js";
import { playDemo } from "./demo.js";
import { queue } from "./entries.js";
import { keepPages } from "./install.js";
import { demo } from "./keep.js";
import { close, now, open, poll } from "./match.js";
import { openSafety, stands } from "./safety.js";
import { adviceScreen } from "./views/advice.js";
import { afterScreen } from "./views/after.js";
import { safetyAbove, safetyScreen } from "./views/safety.js";
import { scoreScreen } from "./views/score.js";
import { setScreen } from "./views/score-form.js";
import { courtScreen, handScreen } from "./views/hand.js";
import { pastScreen } from "./views/past.js";
import { printScreen } from "./views/print.js";
import { startScreen } from "./views/start.js";
import { drawTop } from "./views/top.js";
import { dangerScreen, listScreen, watchScreen } from "./views/watch.js";

const OUTSIDE = { court: courtScreen, past: pastScreen, print: printScreen }; // screens outside a match; any other name is the start screen
const SCREENS = { watch: watchScreen, more: listScreen, danger: dangerScreen, advice: adviceScreen, score: scoreScreen, set: setScreen, hand: handScreen, after: afterScreen };
const NAMES = { watch: "Watch", advice: "Advice", score: "Score", after: "Debrief" };
const NAMED = { record: "score", set: "score", hand: null, more: "watch", danger: null }; // the navigation entry that a screen belongs to
const SCORE_ONLY = "record"; // the score without a plan while safety comes first
const WITH_ADVICE = ["watch", "more", "score"];
const POLL_MS = 5000; // something may have been entered on another device
const wide = matchMedia("(min-width: 60rem)");
const main = document.getElementById("main");
let leaving = new AbortController();
let first = true;
let shown = {};

async function route() {
  leaving.abort();
  leaving = new AbortController();
  const { signal } = leaving;
  const [, id, name = "watch", more] = /^#\/m\/([\w-]+)(?:\/(\w+)(?:\/([WEO]+))?)?$/.exec(location.hash) ?? [];
  main.setAttribute("aria-busy", "true");
  const made = await screen(id, name, signal, more);
  if (signal.aborted) return;
  draw(made, id, id && (now.match || stands()) ? name : null);
  check();
}

function draw(made, id, current) {
  main.replaceChildren(...made);
  main.removeAttribute("aria-busy");
  drawNav(id, current);
  const heading = main.querySelector("h1");
  document.title = [heading?.textContent, now.names && `${now.names.own} and ${now.names.opponent}`].filter(Boolean).join(": ");
  document.body.classList.toggle("still", Boolean(main.querySelector(".pad")));
  if (!first) heading?.focus();
  first = false;
  window.scrollTo(0, 0);
  tell("drawn");
}

/** The advice column beside the pad, if the screen is wide enough for it. */
async function beside() {
  if (!wide.matches || !WITH_ADVICE.includes(shown.name)) return [];
  return [h("div", { class: "column beside" }, await adviceScreen(shown.signal, true))];
}

/** A screen that is rotated or resized gains or loses its second column; anything being typed stays. */
async function widened() {
  main.querySelector(".beside")?.remove();
  main.append(...(await beside()));
}

const column = (...parts) => h("div", { class: "column" }, parts);

/** A screen's columns. While safety comes first, the screen asked for does not matter. */
async function screen(id, name, signal, more) {
  try {
    shown = {};
    if (!id || !(SCREENS[name] || name === SCORE_ONLY)) {
      close();
      tell("match");
      const [, outside, of] = /^#\/(\w+)(?:\/([\w-]+))?$/.exec(location.hash) ?? [];
      return [column(await (OUTSIDE[outside] ?? startScreen)(signal, of))];
    }
    openSafety(id);
    if (stands() && name === "danger") {
      history.replaceState(null, "", `#/m/${id}/watch`); // the sign is entered; once safety is over, Watch comes next
      name = "watch";
    }
    if (now.match?.id !== id) {
      if (stands()) draw([column(safetyScreen(id, name, signal))], id, name); // before anything about the match is fetched
      await open(id);
    }
    tell("match");
    if (stands()) return [column(name === SCORE_ONLY ? [safetyAbove(id), ...(await scoreScreen(signal, true))] : safetyScreen(id, name, signal))];
    if (name === SCORE_ONLY) name = "score";
    shown = { name, signal };
    return [column(await SCREENS[name](signal, more)), ...(await beside())];
  } catch (error) {
    return [id && stands() ? column(safetyScreen(id, name, signal)) : problem(error)];
  }
}

function problem(error) {
  const known = error instanceof Refused || error instanceof Unreachable;
  const words = error instanceof Unreachable ? "The service cannot be reached, and nothing from this match is stored on this device." : error.message;
  if (!known) console.error(error);
  return h("div", { class: "column" }, h("h1", { tabindex: "-1" }, "This page cannot be shown"), h("p", { role: "alert" }, words));
}

function drawNav(id, current) {
  const nav = document.getElementById("nav");
  nav.hidden = !current;
  if (!current) return;
  const at = current in NAMED ? NAMED[current] : current;
  const link = (name) => h("a", { href: `#/m/${id}/${name}`, "aria-current": name === at ? "page" : null }, NAMES[name]);
  nav.replaceChildren(...Object.keys(NAMES).map(link));
}

hear("queue", ({ kind }) => {
  if (kind === "held" && queue.held === "token") tell("token");
});
hear("safety", () => queueMicrotask(route)); // once everybody has taken over what made it
window.addEventListener("hashchange", route);
const polled = () => poll().then(checkMissed, () => {});
const online = () => { queue.flush(); polled(); check(); };
window.addEventListener("online", online);
document.addEventListener("visibilitychange", () => { if (!document.hidden) online(); });
setInterval(() => { if (!document.hidden) polled(); }, POLL_MS);
wide.addEventListener("change", widened);
carryToken();
drawTop();
if (demo) playDemo();
queue.flush();
route();
keepPages();
