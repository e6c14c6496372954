// What happens in one part of the page and matters in another:
//   queue    the state of the queue changed; kept: the service stored an entry
//   match    the match itself changed; others: another device entered something
//   played   points changed; tried: tries changed; score: the score was worked out again
//   seen     the observations changed
//   safety   the safety state changed; sources: the sources of its lines
//   advice   advice arrived; looks: looks arrived
//   token    the service asks for one; full: the device can store no more, or can again
//   drawn    a screen was drawn; minute: a minute of the warm-up begins
//   finish   a match is about to end, or no longer is
//   demo     somebody tried to enter something in the demo; stage: the demo's pad stage;
//            step: the demo moves to its next state (true), or has read it (false)

const target = new EventTarget();

export function tell(name, detail = null) {
  target.dispatchEvent(new CustomEvent(name, { detail }));
}

/** Listen until the signal aborts: a view that has been left must stop listening. */
export function hear(names, listener, signal) {
  for (const name of names.split(" ")) target.addEventListener(name, (event) => listener(event.detail), { signal });
}
