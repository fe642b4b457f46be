// What every page does: shows the connection and what waits, changes light and dark.
import { given, word } from "./given.js";
import { onQueue } from "./queue.js";
import { notice } from "./say.js";

const link = document.getElementById("link");
onQueue(({ waiting, reached, paused }) => {
  const state = !reached ? "lost" : waiting ? "waiting" : "connected";
  const count = waiting ? ` · ${waiting} ${word("frame.waiting")}` : "";
  const text = paused ? word("frame.queue_stopped") : `${word(reached ? "frame.connected" : "frame.lost")}${count}`;
  if (link.textContent !== text) link.textContent = text;
  link.dataset.state = state;
});

document.addEventListener("lungeline:refused", ({ detail }) =>
  notice(`${detail.item.kind ?? ""} ${word("frame.refused_entry")}: ${detail.error.message}`, { kind: "problem", ms: 0 }));

/** Keep how this browser shows things: language, theme, units. */
export function keepView(changes) {
  Object.assign(given.view, changes);
  const text = Object.entries(given.view).map(([key, value]) => `${key}:${value}`).join("|");
  document.cookie = `lungeline_view=${text}; path=/; max-age=315360000; samesite=strict`;
}

document.getElementById("theme").onclick = () => {
  const dark = getComputedStyle(document.documentElement).colorScheme === "dark";
  keepView({ theme: dark ? "light" : "dark" });
  document.documentElement.dataset.theme = given.view.theme;
};
