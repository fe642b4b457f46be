// Sound of findings, by the pulse pattern of IEC 60601-1-8: medium, three pulses; high, two bursts of five.
import { word } from "./given.js";

const PULSE_S = 0.2;
const HIGH = [0, 0.4, 0.8, 1.5, 1.9, 3.1, 3.5, 3.9, 4.6, 5.0];
const MEDIUM = [0, 0.5, 1.0];
const TONES = [523, 659, 784];
const MUTE_MS = 120000;
let context = null;
let mutedUntil = 0;

function pulses(times, tones) {
  context ??= new AudioContext();
  context.resume();
  times.forEach((at, place) => {
    const gain = context.createGain();
    const begin = context.currentTime + at;
    gain.gain.setValueAtTime(0, begin);
    gain.gain.linearRampToValueAtTime(0.4, begin + 0.03);
    gain.gain.setValueAtTime(0.4, begin + PULSE_S - 0.05);
    gain.gain.linearRampToValueAtTime(0, begin + PULSE_S);
    gain.connect(context.destination);
    for (const harmonic of [1, 2, 3, 4]) {
      const tone = context.createOscillator();
      tone.frequency.value = tones[place % tones.length] * harmonic;
      tone.connect(gain);
      tone.start(begin);
      tone.stop(begin + PULSE_S);
    }
  });
}

/** Sound for a priority. A life threat is never muted. */
export function sound(priority) {
  if (priority === "high") pulses(HIGH, TONES);
  else if (Date.now() > mutedUntil) pulses(MEDIUM, TONES.slice(0, 1));
}

/** Wire the test and mute buttons; the mute ends by itself. */
export function wireSound(testButton, muteButton, told) {
  testButton.onclick = () => pulses(MEDIUM, TONES.slice(0, 1));
  const show = () => {
    const muted = Date.now() < mutedUntil;
    muteButton.setAttribute("aria-pressed", String(muted));
    told.textContent = muted ? `${word("frame.muted")} ${new Date(mutedUntil).toTimeString().slice(0, 5)}` : "";
  };
  muteButton.onclick = () => {
    mutedUntil = Date.now() < mutedUntil ? 0 : Date.now() + MUTE_MS;
    show();
    setTimeout(show, MUTE_MS + 500);
  };
}
