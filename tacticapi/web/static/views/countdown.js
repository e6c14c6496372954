// The minutes left of the warm-up, and how long it is.

import { Clock } from "../clock.js";
import { tell } from "../bus.js";
import { announce, button, choice, h } from "../dom.js";
import { now } from "../match.js";
import { clockWords, many } from "../words.js";

const LENGTHS = [1, 2, 3, 4, 5, 6, 8, 10, 15, 20, 30];

/** {element, minutes()}; "minute" is told as each whole minute begins. */
export function countdown(signal) {
  const clock = new Clock(now.match.id);
  const words = h("span", { class: "clock", role: "timer" });
  let told = clock.left;

  const draw = () => {
    words.textContent = clock.seconds ? `${clockWords(clock.seconds)} left` : "Time is up";
    length.hidden = clock.running;
    words.hidden = !clock.running;
    press.textContent = clock.running ? "Stop" : "Start";
    press.setAttribute("aria-label", `${press.textContent} the clock`);
  };
  const length = choice("minutes", LENGTHS.map((n) => [String(n), `${n} min`]), String(clock.minutes), {
    "aria-label": "Length of the warm-up", onchange: (event) => clock.set(Number(event.target.value)),
  });
  const press = button("", () => {
    if (clock.running) clock.stop();
    else clock.start();
    told = clock.left;
    draw();
    if (clock.running) tell("minute");
  }, { class: "quiet" });

  const tick = () => {
    if (!clock.running) return;
    draw();
    if (clock.left === told) return;
    told = clock.left;
    announce(told ? `${many(told, "minute")} left of the warm-up` : "The last minute of the warm-up");
    tell("minute");
  };
  const timer = setInterval(tick, 1000);
  signal.addEventListener("abort", () => clearInterval(timer));
  draw();
  return { element: h("div", { class: "countdown" }, length, words, press), minutes: () => clock.left };
}
