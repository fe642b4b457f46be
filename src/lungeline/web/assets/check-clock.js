// A clock with one big button to start and stop, which goes on counting when the page is loaded again.
import { button, make } from "./check-parts.js";
import { word } from "./given.js";

const KEPT = "lungeline-check-clock";
const SHOWN_MS = 200;

/** Make a clock: {element, seconds(), running(), reset()}. ticked: called as it counts. */
export function clock(ticked) {
  let { begun, before } = { begun: null, before: 0, ...JSON.parse(sessionStorage.getItem(KEPT) ?? "{}") };
  const seconds = () => before + (begun === null ? 0 : (Date.now() - begun) / 1000);
  const shown = make("span", { className: "key-number", id: "seconds", aria: { role: "timer", live: "off" } });
  const turn = button("", () => {
    [before, begun] = [seconds(), begun === null ? Date.now() : null];
    show();
  }, { id: "timer" });
  const again = button(word("check.timer_zero"), () => self.reset());
  const element = make("div", { className: "clock" }, turn, make("span", {}, shown, " s"), again);

  function show() {
    sessionStorage.setItem(KEPT, JSON.stringify({ begun, before }));
    turn.textContent = word(begun === null ? "check.timer" : "check.stop");
    turn.classList.toggle("main", begun === null);
    tick();
  }

  function tick() {
    shown.textContent = String(Math.floor(seconds()));
    if (begun !== null) ticked();
  }
  setInterval(tick, SHOWN_MS);

  const self = {
    element,
    seconds,
    running: () => begun !== null,
    reset() {
      before = 0;
      if (begun !== null) begun = Date.now();
      show();
      ticked();
    },
  };
  show();
  return self;
}
