// Which screen is shown: the address says it, so that a page that is loaded again is where it was.

import { Refused, Unreachable } from "./api.js";
import { hear, tell } from "./bus.js";
import { carryToken } from "./documents.js";
import { h } from "./dom.js";
import { queue } from "./entries.js";
import { close, now, open } from "./match.js";
import { adviceScreen } from "./views/advice.js";
import { afterScreen } from "./views/after.js";
import { scoreScreen } from "./views/score.js";
import { startScreen } from "./views/start.js";
import { drawTop } from "./views/top.js";
import { watchScreen } from "./views/watch.js";

const SCREENS = { watch: watchScreen, advice: adviceScreen, score: scoreScreen, after: afterScreen };
const NAMES = { watch: "Watch", advice: "Advice", score: "Score", after: "Debrief" };
const WITH_ADVICE = ["watch", "score"];
const wide = matchMedia("(min-width: 60rem)");
const main = document.getElementById("main");
let leaving = new AbortController();
let first = true;
let shown = {};

async function route() {
  leaving.abort();
  leaving = new AbortController();
  const { signal } = leaving;
  const [, id, name = "watch"] = /^#\/m\/([\w-]+)(?:\/(\w+))?$/.exec(location.hash) ?? [];
  main.setAttribute("aria-busy", "true");
  const made = await screen(id, name, signal);
  if (signal.aborted) return;
  main.replaceChildren(...made);
  main.removeAttribute("aria-busy");
  drawNav(id && now.match ? name : null);
  const heading = main.querySelector("h1");
  document.title = [heading?.textContent, now.names && `${now.names.own} and ${now.names.opponent}`].filter(Boolean).join(": ");
  if (!first) heading?.focus();
  first = false;
  if (!first) window.scrollTo(0, 0);
}

/** The column of advice beside what is entered, where the screen is wide enough for it. */
async function beside() {
  if (!wide.matches || !WITH_ADVICE.includes(shown.name)) return [];
  return [h("div", { class: "column beside" }, await adviceScreen(shown.signal, true))];
}

/** A screen that is turned or resized gains or loses its second column; what is being typed stays. */
async function widened() {
  main.querySelector(".beside")?.remove();
  main.append(...(await beside()));
}

/** The columns of a screen. */
async function screen(id, name, signal) {
  try {
    shown = {};
    if (!id || !SCREENS[name]) {
      close();
      tell("match");
      return [h("div", { class: "column" }, await startScreen(signal))];
    }
    if (now.match?.id !== id) await open(id);
    tell("match");
    shown = { name, signal };
    return [h("div", { class: "column" }, await SCREENS[name](signal)), ...(await beside())];
  } catch (error) {
    return [problem(error)];
  }
}

function problem(error) {
  const known = error instanceof Refused || error instanceof Unreachable;
  const words = error instanceof Unreachable ? "The service cannot be reached, and nothing of the match is kept on this device." : error.message;
  if (!known) console.error(error);
  return h("div", { class: "column" }, h("h1", { tabindex: "-1" }, "This cannot be shown"), h("p", { role: "alert" }, words));
}

function drawNav(current) {
  const nav = document.getElementById("nav");
  nav.hidden = !current;
  if (!current) return;
  const link = (name) => h("a", { href: `#/m/${now.match.id}/${name}`, "aria-current": name === current ? "page" : null }, NAMES[name]);
  nav.replaceChildren(...Object.keys(NAMES).map(link));
}

hear("queue", ({ kind }) => {
  if (kind === "held" && queue.held === "token") tell("token");
});
window.addEventListener("hashchange", route);
window.addEventListener("online", () => queue.flush());
document.addEventListener("visibilitychange", () => { if (!document.hidden) queue.flush(); });
wide.addEventListener("change", widened);
carryToken();
drawTop();
queue.flush();
route();
if ("serviceWorker" in navigator) navigator.serviceWorker.register("/match-page/offline.js", { scope: "/match-page" }).catch(() => {});
