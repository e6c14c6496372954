// The minutes left of the warm-up, and how long it is.

import { Clock } from "../clock.js";
import { announce, button, h } from "../dom.js";
import { now } from "../match.js";
import { clockWords, many } from "../words.js";

/** {element, minutes()}: `asked(minutes)` is called as each whole minute begins. */
export function countdown(asked, signal) {
  const clock = new Clock(now.match.id);
  const words = h("p", { class: "clock" });
  let told = clock.left;

  const draw = () => {
    words.textContent = clockLine(clock);
    for (const each of [start, less, more]) each.hidden = clock.running;
    stop.hidden = !clock.running;
  };
  const begin = () => {
    clock.start();
    told = clock.left;
    draw();
    stop.focus(); // the pressed button is gone; who uses keys goes on from here
    asked(clock.left);
  };
  const end = () => {
    clock.stop();
    draw();
    start.focus();
  };
  const longer = (minutes) => () => {
    clock.set(clock.minutes + minutes);
    draw();
    announce(clockLine(clock));
  };
  const start = button("Start the clock", begin);
  const stop = button("Stop the clock", end);
  const less = button("−", longer(-1), { "aria-label": "One minute less" });
  const more = button("+", longer(1), { "aria-label": "One minute more" });

  const tick = () => {
    if (!clock.running) return;
    words.textContent = clockLine(clock);
    if (clock.left === told) return;
    told = clock.left;
    announce(told ? `${many(told, "minute")} left of the warm-up` : "The last minute of the warm-up");
    asked(told);
  };
  const timer = setInterval(tick, 1000);
  signal.addEventListener("abort", () => clearInterval(timer));
  draw();
  const element = h("div", { class: "countdown" }, words, h("div", { class: "row" }, start, stop, less, more));
  return { element, minutes: () => clock.left };
}

function clockLine(clock) {
  if (!clock.running) return `Warm-up of ${many(clock.minutes, "minute")}`;
  return clock.seconds ? `${clockWords(clock.seconds)} left of the warm-up` : "The warm-up is over";
}
