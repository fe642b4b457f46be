// A blood gas that cannot well be what it is called: asked before it is kept. Pressed again, it is kept as it is.
import { ask } from "./ask.js";
import { word } from "./given.js";
import { textOf } from "./measures.js";

const WAIT_MS = 3000; // without an answer by then it is kept: nothing reckoned holds up an entry
const caseId = document.body.dataset.case;

const said = ({ code, figures }) => `${word(`why.doubt_${code}`)} (${Object.entries(figures).map(([key, value]) => `${word(`why.q_${key}`)} ${textOf(key, value)}`).join(", ")})`;

/** What a form of a gas is sent with: throws once where the gas is in doubt, and lets the same one pass the second time. */
export function doubted() {
  let asked = "";
  return async (body) => {
    const mine = JSON.stringify(body);
    if (mine === asked) return;
    let doubts = [];
    try {
      ({ doubts } = await ask(`/api/cases/${caseId}/gas-doubts`, { method: "POST", body: { body }, signal: AbortSignal.timeout(WAIT_MS) }));
    } catch {
      return; // no connection: nobody can tell
    }
    if (!doubts.length) return;
    asked = mine;
    throw new Error([word("why.doubt_title"), ...doubts.map(said), word("why.doubt_again")].join(" "));
  };
}
