// Sound of findings, by the pulse patterns of IEC 60601-1-8 (2006, tables 3 and 4; from memory): medium, a burst of
// three pulses; high, ten in two groups of five. Each pulse has a fundamental and three harmonics of it.
import { given, word } from "./given.js";

const HIGH = { pulse: 0.15, gap: 0.1, group: 0.8, again: 8, tones: [523, 659, 784] }; // seconds, hertz
const MEDIUM = { pulse: 0.2, gap: 0.2, again: 20, tones: [523] };
const RISE = 0.25; // of a pulse
const LOUD = 0.35;
const MUTE_MS = 120000;
let context = null;
let mutedUntil = 0;
let wanted = "";
let timer = null;
let told = () => {};

/** When the pulses of a burst begin [s]. */
function begins({ pulse, gap, group }) {
  if (!group) return [0, 1, 2].map((place) => place * (pulse + gap));
  const five = [0, pulse + gap, 2 * (pulse + gap), 2 * (pulse + gap) + pulse + 2 * gap + pulse, 3 * (pulse + gap) + pulse + 2 * gap + pulse];
  return [...five, ...five.map((at) => at + five[4] + pulse + group)];
}

function burst(kind) {
  if (!context || context.state !== "running") return;
  begins(kind).forEach((at, place) => {
    const gain = context.createGain();
    const begin = context.currentTime + at;
    gain.gain.setValueAtTime(0, begin);
    gain.gain.linearRampToValueAtTime(LOUD, begin + kind.pulse * RISE);
    gain.gain.setValueAtTime(LOUD, begin + kind.pulse * (1 - RISE));
    gain.gain.linearRampToValueAtTime(0, begin + kind.pulse);
    gain.connect(context.destination);
    for (const harmonic of [1, 2, 3, 4]) {
      const tone = context.createOscillator();
      const level = context.createGain();
      level.gain.value = 1 / harmonic;
      tone.frequency.value = kind.tones[place % kind.tones.length] * harmonic;
      tone.connect(level).connect(gain);
      tone.start(begin);
      tone.stop(begin + kind.pulse);
    }
  });
}

const muted = () => Date.now() < mutedUntil;

function again() {
  clearTimeout(timer);
  if (!wanted) return;
  const kind = wanted === "high" ? HIGH : MEDIUM;
  if (wanted === "high" || !muted()) burst(kind); // what threatens life is never muted
  timer = setTimeout(again, kind.again * 1000);
}

/** Sound for a priority ("high", "medium") until it is "". */
export function remind(priority) {
  if (priority === wanted) return;
  wanted = priority;
  again();
  told();
}

// a browser makes no sound before the page is touched
function touched() {
  context ??= new AudioContext();
  context.resume().then(() => {
    told();
    again();
  });
}
["pointerdown", "keydown"].forEach((kind) => addEventListener(kind, touched, { once: true }));

/** Wire the test and mute buttons; box: where it is told what is not heard, and until when. */
export function wireSound(testButton, muteButton, box) {
  testButton.onclick = () => {
    touched();
    burst(MEDIUM);
  };
  told = () => {
    muteButton.setAttribute("aria-pressed", String(muted()));
    const until = new Date(mutedUntil).toLocaleTimeString(given.view.language, { hour: "2-digit", minute: "2-digit", second: "2-digit", hourCycle: "h23" });
    const silent = wanted && context?.state !== "running" ? word("watch.touch_for_sound") : "";
    box.textContent = muted() ? `${word("frame.muted")} ${until}` : silent;
  };
  muteButton.onclick = () => {
    mutedUntil = muted() ? 0 : Date.now() + MUTE_MS;
    setTimeout(told, MUTE_MS + 500);
    told();
  };
  told();
}
