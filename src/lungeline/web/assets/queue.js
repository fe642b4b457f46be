// Entries on their way to the record. Each is kept on this device first and sent in order until it is
// acknowledged; its uid makes sure that it is entered once, however often it is sent.
import { createStore, del, entries, set } from "/static/packed/idb-keyval.js";
import { ask, Refusal } from "./ask.js";

const kept = createStore("lungeline-queue", "entries");
const listeners = new Set();
const AGAIN_MS = 2000;
let sending = false;
let paused = false;
let reached = true;
let last = 0;

/** Call with {waiting, reached, paused} whenever that changes. */
export function onQueue(listener) {
  listeners.add(listener);
  tell();
  return () => listeners.delete(listener);
}

async function tell() {
  const all = (await entries(kept)).map(([, item]) => item);
  const waiting = all.filter((item) => !item.refused);
  const state = { waiting: waiting.length, reached, paused, items: waiting, refused: all.filter((item) => item.refused) };
  listeners.forEach((listener) => listener(state));
}

const uid = () => {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return `w${[...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("")}`;
};

const offset = (moment) => {
  const minutes = -moment.getTimezoneOffset();
  const part = (value) => String(Math.trunc(Math.abs(value))).padStart(2, "0");
  return `${minutes < 0 ? "-" : "+"}${part(minutes / 60)}:${part(minutes % 60)}`;
};

/** A moment with this device's offset, as the record wants it. */
export const momentText = (moment = new Date()) =>
  new Date(moment.getTime() - moment.getTimezoneOffset() * 60000).toISOString().replace("Z", offset(moment));

/** Keep what happened, then send it. Returns its uid once it is kept here; `onSaved` is called once it is on disk there. */
export async function enter(caseId, kind, body, { eventTime, onSaved } = {}) {
  const item = { uid: uid(), case: caseId, kind, body, event_time: eventTime ?? momentText() };
  return keep(`/api/cases/${caseId}/entries`, item, onSaved);
}

/** Strike an entry out; kept and sent as entries are. target: {seq} or the uid of one still waiting. */
export async function strike(caseId, seq, reason) {
  return keep(`/api/cases/${caseId}/entries/${seq}/strike`, { uid: uid(), reason });
}

const hopes = new Map();

async function keep(path, item, onSaved) {
  last = Math.max(last + 1, Date.now());
  const key = `${String(last).padStart(15, "0")}-${item.uid}`;
  if (onSaved) hopes.set(item.uid, onSaved);
  await set(key, { path, item, kept_at: momentText() }, kept);
  tell();
  send();
  return item.uid;
}

/** Take back what was not sent yet. Returns whether it was still here. */
export async function takeBack(itemUid) {
  for (const [key, { item }] of await entries(kept)) {
    if (item.uid === itemUid) {
      await del(key, kept);
      tell();
      return true;
    }
  }
  return false;
}

/** Send what waits, in order. */
export async function send() {
  if (sending) return;
  sending = true;
  try {
    await navigator.locks.request("lungeline-queue", sendAll); // one page of this browser at a time
  } finally {
    sending = false;
  }
}

async function sendAll() {
  for (;;) {
    const next = (await entries(kept)).filter(([, value]) => !value.refused).sort(([a], [b]) => (a < b ? -1 : 1))[0];
    if (!next) {
      reached = reached || navigator.onLine;
      return tell();
    }
    const [key, value] = next;
    try {
      const answer = await ask(value.path, { method: "POST", body: value.item });
      await del(key, kept);
      [reached, paused] = [true, false];
      hopes.get(value.item.uid)?.(answer);
      hopes.delete(value.item.uid);
      document.dispatchEvent(new CustomEvent("lungeline:saved", { detail: { item: value.item, entry: answer } }));
    } catch (error) {
      if (error instanceof Refusal && error.status === 401) [reached, paused] = [true, true];
      else if (error instanceof Refusal && error.status >= 400 && error.status < 500 && error.status !== 429 && error.status !== 403) {
        // it can never be entered as it is: kept here, shown, and out of the way of the others
        await set(key, { ...value, refused: error.parts }, kept);
        document.dispatchEvent(new CustomEvent("lungeline:refused", { detail: { item: value.item, error } }));
        tell();
        continue;
      } else reached = error instanceof Refusal;
      tell();
      setTimeout(send, AGAIN_MS);
      return undefined;
    }
    tell();
  }
}

/** Say that a page cannot reach the server, or can again. */
export function setReached(now) {
  if (now === reached) return;
  reached = now;
  tell();
  if (now) send();
}

window.addEventListener("online", send);
send();
