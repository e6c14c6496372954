// What happens in one part of the page and is of interest in another:
//   queue    the state of the queue changed; kept: an entry is
//   match    the match itself changed; others: another device entered something
//   played   points changed; tried: tries changed; score: by the points
//   seen     what was observed
//   safety   its state changed; sources: those of its lines
//   advice   and looks: they came
//   token    the service asks for one; full: the device keeps no more, or does again
//   drawn    a screen is; minute: one of the warm-up begins
//   finish   a match is about to end, or is not any more
//   demo     something was to be entered in the demo; stage: of the pad, in the demo;
//            step: it goes on to its next state (true), which is read (false)

const target = new EventTarget();

export function tell(name, detail = null) {
  target.dispatchEvent(new CustomEvent(name, { detail }));
}

/** Listen until the signal ends it: a view that is left must not go on listening. */
export function hear(names, listener, signal) {
  for (const name of names.split(" ")) target.addEventListener(name, (event) => listener(event.detail), { signal });
}
