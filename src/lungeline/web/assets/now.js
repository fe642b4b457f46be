// What time it is: by the server's clock, or by the animal's in a rehearsal, which may go faster or stand still.
let heardAt = Date.now(); // by this device's clock
let toldMs = heardAt;
let rate = 1;

/** Be told the time; rate: how fast it goes. */
export function setNow(ms, speed = 1) {
  [heardAt, toldMs, rate] = [Date.now(), ms, speed];
}

/** Milliseconds. */
export const nowMs = () => toldMs + (Date.now() - heardAt) * rate;
