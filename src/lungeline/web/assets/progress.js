// Words and a bar while something takes longer than a second; how far it is is asked for under a ticket.
import { ask } from "./ask.js";

const POLL_MS = 300;

/** A ticket nobody else has. */
export const newTicket = () => `t${crypto.getRandomValues(new Uint32Array(3)).join("-")}`;

/** Make (words, work) => promise: shows the box while work(ticket) goes on. Work begun meanwhile takes it over. */
export function progress(box, said, bar) {
  let newest = 0;
  return async (words, work) => {
    const mine = ++newest;
    const ticket = newTicket();
    said.textContent = words;
    bar.removeAttribute("value");
    box.hidden = false;
    const poll = async () => {
      if (mine !== newest) return;
      const far = await ask(`/api/plan/progress/${ticket}`).catch(() => null);
      if (mine !== newest) return;
      if (far?.of) {
        bar.value = far.done / far.of;
        said.textContent = `${words} ${far.done} / ${far.of}`;
      }
      setTimeout(poll, POLL_MS);
    };
    setTimeout(poll, POLL_MS);
    try {
      return await work(ticket);
    } finally {
      if (mine === newest) {
        newest += 1;
        box.hidden = true;
      }
    }
  };
}
