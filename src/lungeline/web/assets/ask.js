// Questions to the server, in one form; refusals come back as errors that say what to do.
import { cookie } from "./given.js";

export class Refusal extends Error {
  constructor(parts, status) {
    super(`${parts.where}: ${parts.given} – ${parts.allowed}. ${parts.do}`);
    this.parts = parts;
    this.status = status;
  }
}

/** Ask and return the answer; `Refusal` where the server refused, TypeError where it was not reached. */
export async function ask(path, { method = "GET", body, signal } = {}) {
  const headers = { Accept: "application/json" };
  if (method !== "GET") headers["X-CSRFToken"] = cookie("lungeline_csrf");
  if (body !== undefined) headers["Content-Type"] = "application/json";
  const answer = await fetch(path, {
    method, headers, signal, body: body === undefined ? undefined : JSON.stringify(body), credentials: "same-origin",
  });
  const told = await answer.json().catch(() => null);
  if (answer.ok && told !== null) return told;
  throw new Refusal(told?.error ?? { where: path, given: answer.status, allowed: "", do: "" }, answer.status);
}

/** One question at a time, the newest wins: for sliders. Calls `shown` with each answer that still counts. */
export function newest(question, shown, failed = () => {}) {
  let wanted = null;
  let busy = false;
  const go = async () => {
    busy = true;
    while (wanted !== null) {
      const mine = wanted;
      wanted = null;
      try {
        const answer = await question(mine);
        if (wanted === null) shown(answer, mine);
      } catch (error) {
        if (wanted === null) failed(error, mine);
      }
    }
    busy = false;
  };
  return (value) => {
    wanted = value;
    if (!busy) go();
  };
}
