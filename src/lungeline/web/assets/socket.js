// Lines to the server that come back by themselves; one tells when the case has grown.
import { setReached } from "./queue.js";

const SILENT_MS = 3000; // the server says something each second
const AGAIN_MS = [200, 500, 1000, 2000];

/** Keep a line open. said(message): for each but the beats; refused: codes after which it is not tried again; ended: called then. */
export function keepOpen(path, said, { opened = () => {}, lost = () => {}, refused = [], ended: over = () => {} } = {}) {
  let tries = 0;
  const open = () => {
    const socket = new WebSocket(`${location.protocol === "https:" ? "wss" : "ws"}://${location.host}${path}`);
    let silent;
    // a peer that is gone never answers a close: the next line is begun without waiting for this one's end
    const ended = ({ code } = {}) => {
      clearTimeout(silent);
      socket.onopen = socket.onmessage = socket.onclose = null;
      socket.close();
      if (refused.includes(code)) return over();
      lost();
      setTimeout(open, AGAIN_MS[Math.min(tries++, AGAIN_MS.length - 1)]);
      return undefined;
    };
    const heard = () => {
      clearTimeout(silent);
      silent = setTimeout(ended, SILENT_MS);
    };
    socket.onopen = () => {
      tries = 0;
      opened();
      heard();
    };
    socket.onmessage = ({ data }) => {
      heard();
      const message = JSON.parse(data);
      if (message.type !== "beat") said(message);
    };
    socket.onclose = ended;
    heard();
  };
  open();
}

/** Follow a case; `grown(lastSeq)` is called whenever entries came, also after a break. */
export function follow(caseId, grown) {
  keepOpen(`/ws/case/${caseId}`, (message) => message.type === "entries" && grown(message.last_seq), {
    opened: () => setReached(true), lost: () => setReached(false),
  });
  addEventListener("offline", () => setReached(false)); // the device knows at once
}
