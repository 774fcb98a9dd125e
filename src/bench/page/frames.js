/* Work is done in pieces: each frame does a bounded amount of it, so that a shelf of 500 coupons stays fluid on a slow machine, too. The
   bound is a count (points drawn, and what costs as much), not a time: it is the same on every machine. */

export const pointsMost = 2400; /* points drawn in one frame */

const jobs = new Map(); /* the part that asked for work -> its steps that are still to be done */
let waiting = false;

function wake() {
  if (waiting) return;
  waiting = true;
  requestAnimationFrame(frame);
}

function frame() {
  waiting = false;
  let cost = 0;
  try {
    for (const [owner, steps] of jobs) {
      for (let step = null; cost < pointsMost && !step?.done; cost += step.value || 0) {
        step = steps.next();
        if (step.done && jobs.get(owner) === steps) jobs.delete(owner);
      }
      if (cost >= pointsMost) break;
    }
  } finally {
    if (jobs.size) wake();
  }
}

/* Do the steps of a generator, which yields what each step cost in points, in the next frame and those after it. Steps that
   `owner` asked for before and that are not done yet are dropped; the new ones take their turn. */
export function inFrames(owner, steps) {
  jobs.set(owner, steps);
  wake();
}
