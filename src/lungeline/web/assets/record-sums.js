// The case in sum: times, what was given and lost, doses beside the plan, controlled drugs, people, recovery, clocks.
import { word } from "./given.js";
import { textOf } from "./measures.js";
import { button, clock, day, make, put, table } from "./record-parts.js";

const box = document.getElementById("sums");
const amount = (key, value) => (value === null || value === undefined ? word("frame.unknown") : textOf(key, value));

/** Show the sums. add: opens the form of a kind; null where nothing may be added. */
export function showSums(record, add) {
  const { clock: time, totals, controlled, beside_plan: beside, team, clocks } = record;
  put(box, [{ ...time, now: 0 }, totals, controlled, beside, team, clocks, record.items, add === null], () =>
    [times(record), given(totals), drugs(controlled), planned(beside), people(team), ...kept(record), wrongClocks(clocks)]
      .map((part) => sheet(part, add)));
}

/** A part: its title, table or null, what is said where there is nothing, and the kind that can be added to it. */
function sheet({ title, shown, kind, none = word("record.none"), wide = false }, add) {
  const more = kind && add ? [button(word("record.add_one"), () => add(...[kind].flat()), { name: `${word("record.add_one")}: ${title}` })] : [];
  return make("section", { className: wide && shown ? "sheet wide" : "sheet" }, make("h3", { textContent: title }), shown ?? make("p", { className: "quiet", textContent: none }), ...more);
}

function times({ clock: it }) {
  const rows = [
    it.phase && [word("record.part"), `${word(`cases.phase_${it.phase}`)} · ${clock(it.phase_since)}`],
    it.induced && [word("record.began"), day(it.induced)],
    it.awake && [word("record.recovering"), day(it.awake)],
    it.anaesthesia_minutes !== null && [word("record.under"), textOf("duration_min", Math.round(it.anaesthesia_minutes))],
  ].filter(Boolean);
  return { title: word("record.times"), shown: rows.length ? table(null, rows) : null, kind: "phase" };
}

function given(sums) {
  const untold = (drug) => (sums.untold_number[drug] ? `${word("record.untold")} ${sums.untold_number[drug]}` : "");
  const rows = [
    ...Object.entries(sums.doses_mg).map(([drug, mg]) => [drug, textOf("amount_mg", mg), untold(drug)]),
    ...Object.keys(sums.untold_number).filter((drug) => !(drug in sums.doses_mg)).map((drug) => [drug, "–", untold(drug)]),
    ...sums.infusions.map((it) => [
      `${it.drug}, ${word("record.infusion")}`,
      [it.amount_mg !== null && textOf("amount_mg", it.amount_mg), it.volume_ml !== null && textOf("volume_ml", it.volume_ml)].filter(Boolean).join(", ") || word("frame.unknown"),
      `${word(it.running ? "record.running" : "record.stopped")}, ${textOf("duration_min", Math.round(it.minutes))}`,
    ]),
    ...Object.entries(sums.in_l).map(([what, litres]) => [what, textOf("volume_l", litres), word("record.in")]),
    ...Object.entries(sums.out_l).map(([what, litres]) => [what, textOf("volume_l", litres), word("record.out")]),
  ];
  return { title: word("record.given"), shown: rows.length ? table(null, rows) : null };
}

function drugs(controlled) {
  const rows = controlled.map((it) => [
    it.drug, amount("drawn_mg", it.drawn_mg), amount("given_mg", it.given_mg), amount("wasted_mg", it.wasted_mg), balance(it),
    it.unwitnessed.length ? `✕ ${word("record.no_witness")}: ${it.unwitnessed.join(", ")}` : `✓ ${word("record.witnessed")}`,
  ]);
  const head = ["drug", "drawn", "gave", "wasted", "difference", "witness"].map((key) => word(`record.${key}`));
  return { title: word("record.controlled"), shown: rows.length ? table(head, rows) : null, kind: "controlled", wide: true };
}

const balance = (it) => (it.balanced ? `✓ ${textOf("amount_mg", 0)}` : `✕ ${amount("difference_mg", it.difference_mg)}`);

function planned(beside) {
  const verdict = (it) => (it.more ? `▲ ${word("record.more_than_planned")}` : it.in_plan ? `✓ ${word("record.as_planned")}` : `· ${word("record.not_planned")}`);
  const rows = beside.map((it) => [[it.drug, it.use].filter(Boolean).join(", "), amount("given_mg", it.given_mg), it.in_plan ? amount("planned_mg", it.planned_mg) : "–", verdict(it)]);
  const head = ["drug", "gave", "planned", "beside"].map((key) => word(`record.${key}`));
  return { title: word("record.beside_plan"), shown: rows.length ? table(head, rows) : null, none: word("record.no_plan"), wide: true };
}

function people(team) {
  const rows = team.map((it) => [it.person, it.function, [it.came, it.left].map((time) => (time ? clock(time) : "…")).join(" – ")]);
  return { title: word("record.team"), shown: rows.length ? table(null, rows) : null, kind: "team" };
}

/** Kinds of entries that stand for themselves: recovery, outcome, incidents, hand-overs. */
function kept({ items }) {
  const of = (kind, test = () => true) => items.filter((item) => item.kind === kind && !item.struck && test(item));
  const listed = (found) => (found.length ? table(null, found.map((item) => [clock(item.event_time), item.text])) : null);
  return [
    { title: word("record.recovery"), shown: listed(of("recovery")), kind: "recovery" },
    { title: word("record.outcome"), shown: listed(of("outcome")), kind: "outcome" },
    { title: word("record.incidents"), shown: listed(of("event", (item) => item.body.incident)), kind: ["event", { incident: true }] },
    { title: word("record.handover"), shown: listed(of("handover")), kind: "handover" },
  ];
}

function wrongClocks(clocks) {
  const rows = clocks.map((it) => [String(it.at_seq), word(`record.clock_${it.what.replaceAll(" ", "_")}`), it.device, textOf("ahead_s", it.ahead_s)]);
  return { title: word("record.clocks"), shown: rows.length ? table(null, rows) : null, none: word("record.clocks_agree") };
}
