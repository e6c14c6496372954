// The demo match: it plays by itself in the screens of a match. The service holds its state after each
// step; the page asks for the current one, as a second phone beside the court would.

import { check } from "./advice.js";
import { addressOf, line } from "./api.js";
import { hear, tell } from "./bus.js";
import { button, h } from "./dom.js";
import { root } from "./keep.js";
import { poll } from "./match.js";

const LEAST_MS = 400;

export function playDemo() {
  const { match, steps } = JSON.parse(document.getElementById("film").textContent);
  let at = 0;
  let timer = 0;
  let led = null; // the screen that the film shows
  let played = new Promise((done) => hear("drawn", done)); // the match is open once its first screen is drawn

  const screenOf = (screen) => `#/m/${match}/${screen}`;
  const said = h("p", { role: "status" });
  const place = h("span", { class: "tally" });
  const hint = h("p", { class: "notice", hidden: true }, "This match plays by itself, and nothing can be entered in it. ", h("a", { href: `${root}/match` }, "Start a match"));
  const pause = button("Pause", () => (timer ? stop() : go()));
  const next = button("Next", () => { stop(); step(); });
  const again = h("a", { class: "block", href: `${root}/demo`, hidden: true }, "Play it again");
  const start = h("a", { class: "block", href: `${root}/match`, hidden: true }, "Start a match");
  document.getElementById("demo").append(said, h("div", { class: "row" }, place, pause, next, again, start), hint);

  const draw = async (number) => {
    const { say, screen, stage } = steps[number];
    tell("step", true);
    line.before = `/demo/${number}`;
    await poll().finally(() => tell("step", false));
    check();
    said.textContent = say;
    place.textContent = `Demo ${number + 1} of ${steps.length}`;
    const last = number === steps.length - 1;
    for (const each of [pause, next]) each.hidden = last;
    for (const each of [again, start]) each.hidden = !last;
    hint.hidden = true;
    if (stage) tell("stage", stage);
    if (screen) location.hash = led = screenOf(screen);
  };
  const step = () => {
    if (at === steps.length - 1) return;
    const number = (at += 1);
    played = played.then(() => draw(number)).catch(() => { said.textContent = "The service cannot be reached. You need to be online for the demo."; stop(); });
  };
  const stop = () => {
    clearTimeout(timer);
    timer = 0;
    pause.textContent = "Go on";
  };
  const go = () => {
    pause.textContent = "Pause";
    timer = setTimeout(async () => {
      step();
      await played;
      if (timer && at < steps.length - 1) go();
    }, Math.max(LEAST_MS, steps[at].seconds * 1000));
  };

  window.addEventListener("hashchange", () => {
    if (location.hash !== led) stop(); // the visitor is looking round
  });
  hear("demo", () => { hint.hidden = false; });
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[data-document]"); // the card and debrief for the step shown
    if (link) link.href = addressOf(link.dataset.path);
  }, true);
  history.replaceState(null, "", screenOf(steps[0].screen));
  draw(at);
  if (matchMedia("(prefers-reduced-motion: reduce)").matches) stop();
  else go();
}
