// Entering from the running case: kept on this device first, shown, and ten seconds to take it back.
import { word } from "./given.js";
import { enter, momentText, strike, takeBack } from "./queue.js";
import { notice } from "./say.js";

const caseId = document.body.dataset.case;
const nowChoice = document.querySelector("input[name=ago][value='0']");

/** When it was, as chosen: undefined for now. */
const eventTime = () => {
  const ago = Number(document.querySelector("input[name=ago]:checked").value);
  return ago ? momentText(new Date(Date.now() - ago * 60000)) : undefined;
};

/** Enter something. Taken back before it was sent, it never was; after that it is struck out, and stays in view. */
export async function note(kind, body, text) {
  let seq = null;
  let unwanted = false;
  const strikeOut = () => strike(caseId, seq, word("watch.undone"));
  const uid = await enter(caseId, kind, body, {
    eventTime: eventTime(),
    onSaved: (entry) => {
      seq = entry.seq;
      if (unwanted) strikeOut(); // it was on its way when it was taken back
    },
  });
  nowChoice.checked = true;
  notice(text, {
    undo: async () => {
      unwanted = seq === null && !(await takeBack(uid));
      if (seq !== null) strikeOut();
    },
  });
}
