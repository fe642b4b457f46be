// The record of a case: every entry with what became of it, forms to add and correct, signing.
import { ask } from "./ask.js";
import { askForm } from "./forms.js";
import { word } from "./given.js";
import { enter, momentText } from "./queue.js";
import { showChart } from "./record-chart.js";
import { showEntries } from "./record-entries.js";
import { showMissing } from "./record-gaps.js";
import { clock } from "./record-parts.js";
import { askSignature, showProof } from "./record-sign.js";
import { showSums } from "./record-sums.js";
import { notice } from "./say.js";
import { follow } from "./socket.js";

const caseId = document.body.dataset.case;
const dialog = document.getElementById("form");
const failed = document.getElementById("failed");
const signing = document.getElementById("sign");
const AFTER_SIGNING = ["addendum", "outcome", "controlled"];
let record = null;
let chart = null;
let kinds = {};
let version = 0; // entries of the signed version that is shown; 0: the case as it stands

let loads = 0;
async function load() {
  const mine = ++loads; // what was asked last is shown, also where an earlier answer comes later
  try {
    if (!Object.keys(kinds).length) kinds = (await ask("/api/cases/kinds")).kinds;
    const signed = version ? `?signed=${version}` : "";
    const found = await Promise.all([ask(`/api/cases/${caseId}/record${signed}`), ask(`/api/cases/${caseId}/chart${signed}`)]);
    if (mine !== loads) return;
    [record, chart] = found;
    failed.hidden = true;
  } catch (error) {
    if (mine !== loads) return;
    failed.textContent = `${word("frame.needs_connection")}: ${error.message}`;
    failed.hidden = false;
    return;
  } finally {
    document.getElementById("loading").hidden = true;
  }
  show();
}

function show() {
  const acts = version ? null : { add, correct, sign: signing && sign, go: () => location.assign(`/case/${caseId}/check/`) };
  document.getElementById("as-signed").hidden = !version;
  document.getElementById("as-signed-what").textContent = version ? `1–${version}` : "";
  document.getElementById("add").disabled = Boolean(version);
  if (signing) signing.disabled = Boolean(version);
  showMissing(record, acts);
  showChart(chart);
  showSums(record, acts && add);
  const may = (item) => !version && item.kind !== "signature" && item.kind !== "clock";
  showEntries(record, { correct, strike, may, hasForm: (kind) => kind in kinds });
  showProof(record, { add: acts && add, seeAsSigned: version ? null : seeAsSigned });
}

function seeAsSigned(count) {
  version = count;
  load().then(() => document.getElementById("content").focus());
}

const reason = () => ({ key: "reason", label: word("record.reason"), kind: "paragraph", required: true });
const when = () => ({ key: "event_time", label: word("record.when"), kind: "moment", required: true });
const local = (text) => text.slice(0, 19);
const offset = (text) => text.slice(text.search(/([+-]\d\d:\d\d|Z)$/));

async function send(path, body) {
  await ask(path, { method: "POST", body });
  notice(word("frame.saved"));
  await load();
}

/** Correct an entry with the form of its kind; field: where to begin. */
async function correct(item, field) {
  const { fields, label } = kinds[item.kind];
  const asked = askForm(dialog, `${word("record.correct")}: ${label} ${clock(item.event_time)}`, fields, { ...item.body, event_time: local(item.event_time) }, {
    extra: [when(), reason()],
    send({ reason: why, event_time: time, ...right }) {
      const changes = Object.fromEntries(Object.entries(right).filter(([key, value]) => item.body[key] !== value));
      const leaveOut = fields.map(({ key }) => key).filter((key) => key in item.body && !(key in right));
      const moved = time === local(item.event_time) ? undefined : time + offset(item.event_time);
      return send(`/api/cases/${caseId}/entries/${item.seq}/correction`, { reason: why, changes, leave_out: leaveOut, event_time: moved });
    },
  });
  dialog.querySelector(`[name="${field ?? fields[0].key}"]`)?.focus();
  await asked;
}

async function strike(seq, deed) {
  await askForm(dialog, `${word(deed)}: ${seq}`, [reason()], {}, {
    button: word(deed),
    send: (body) => send(`/api/cases/${caseId}/entries/${seq}/strike`, body),
  });
}

/** Add an entry; since: a time after which it was, where it is late. */
async function add(kind, body = {}, since) {
  const begin = local(since ?? momentText());
  const read = await askForm(dialog, kinds[kind].label, kinds[kind].fields, { ...body, event_time: begin }, { extra: [when()] });
  if (!read) return;
  const { event_time: time, ...told } = read;
  const eventTime = time === begin && !since ? undefined : time + offset(since ?? momentText());
  await enter(caseId, kind, told, { eventTime, onSaved: load });
}

async function addAny() {
  const signed = record.versions.length > 0;
  const may = (kind) => (signed && record.phase === "closed" ? AFTER_SIGNING.includes(kind) : kind !== "addendum" || signed);
  const choices = Object.keys(kinds).filter((kind) => kind !== "opening" && may(kind));
  const field = { key: "kind", label: word("record.kind"), kind: "choice", required: true, choices, choice_words: choices.map((kind) => kinds[kind].label) };
  const body = await askForm(dialog, word("record.add"), [field], {}, { button: word("record.next") });
  if (body) await add(body.kind);
}

const sign = (meaning) => askSignature(dialog, record, meaning, (body) => send(`/api/cases/${caseId}/sign`, body));

document.getElementById("add").onclick = () => record && addAny();
document.getElementById("as-now").onclick = () => seeAsSigned(0);
if (signing) signing.onclick = () => record && sign("signed");
follow(caseId, (lastSeq) => {
  if (!record || lastSeq > record.entries) load();
});
load();
