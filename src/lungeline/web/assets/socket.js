// The line to the server: tells when the case has grown, and when nothing is heard any more.
import { setReached } from "./queue.js";

const SILENT_MS = 3000; // the server says something each second
const AGAIN_MS = [200, 500, 1000, 2000];

/** Follow a case; `grown(lastSeq)` is called whenever entries came, also after a break. */
export function follow(caseId, grown) {
  let tries = 0;
  let silent;
  const open = () => {
    const socket = new WebSocket(`${location.protocol === "https:" ? "wss" : "ws"}://${location.host}/ws/case/${caseId}`);
    const heard = () => {
      clearTimeout(silent);
      silent = setTimeout(() => socket.close(), SILENT_MS);
    };
    socket.onopen = () => {
      tries = 0;
      setReached(true);
      heard();
    };
    socket.onmessage = (event) => {
      heard();
      const message = JSON.parse(event.data);
      if (message.type === "entries") grown(message.last_seq);
    };
    socket.onclose = () => {
      clearTimeout(silent);
      setReached(false);
      setTimeout(open, AGAIN_MS[Math.min(tries++, AGAIN_MS.length - 1)]);
    };
  };
  open();
  addEventListener("offline", () => setReached(false)); // the device knows at once; the socket may take its time
}
