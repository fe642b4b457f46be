// What is missing before the record is signed, each with the form that fills the gap.
import { word } from "./given.js";
import { button, clock, make, put } from "./record-parts.js";

const box = document.getElementById("missing");
const MOST_GAPS = 6;

/** A finding as an element: its rank by word and shape, what is so, what to do. */
export const finding = (said, ...more) =>
  make("div", { className: "finding", dataset: { severity: said.severity } },
    make("span", { className: "rank", textContent: word(`record.rank_${said.severity}`) }),
    make("span", {}, `${said.says} `, make("span", { className: "quiet", textContent: said.do })), ...more);

/** Show what is missing. acts: {add, correct, sign} open the forms. */
export function showMissing(record, acts) {
  document.getElementById("missing-count").textContent = record.missing_said.length;
  put(box, [record.missing_said, record.reading_gaps, acts === null], () => {
    const rows = record.missing_said.map((said, place) => {
      const ways = acts ? waysTo(record.missing[place], record, acts) : [];
      return finding(said, make("span", { className: "row ways" }, ...ways.map(([text, act]) => button(text, act, { name: `${text}: ${said.says}` }))));
    });
    return rows.length ? rows : [make("p", { textContent: word("record.nothing_missing") })];
  });
}

/** The ways to fill a gap: each a text and the act behind it. */
function waysTo(gap, record, { add, correct, sign, go }) {
  const fill = word("record.fill");
  const { figures } = gap;
  const known = (kind, test) => record.items.filter((item) => item.kind === kind && !item.struck && test(item));
  const corrected = (item) => [`${word("record.correct")} ${clock(item.event_time)}`, () => correct(item)];
  const [kind, field] = gap.about.split(".");
  switch (gap.code) {
    case "record_weight_missing":
    case "record_identity_missing":
      return [[fill, () => correct(record.items.find((item) => item.kind === "opening"), field)]];
    case "record_readings_gap":
      return record.reading_gaps.slice(0, MOST_GAPS).map(([begin, end]) => [`${clock(begin)} – ${clock(end)}`, () => add("reading", {}, begin)]);
    case "record_check_missing":
      return [[word("frame.check"), go]];
    case "record_induction_missing":
      return [[fill, () => add("phase", { phase: "induce" })]];
    case "record_not_closed":
      return [[fill, () => add("phase", { phase: "closed" })]];
    case "record_amount_missing":
      return known("drug", (item) => item.body.drug === figures.drug && item.body.amount_mg === undefined).map(corrected);
    case "record_infusion_running":
      return [[fill, () => add("infusion", { drug: figures.drug, action: "stop" })]];
    case "record_more_than_planned":
    case "record_drug_not_planned":
      return known("drug", (item) => item.body.drug === figures.drug).map(corrected);
    case "record_controlled_unbalanced":
      return [[fill, () => add("controlled", { drug: figures.drug })]];
    case "record_controlled_unwitnessed":
      return known("controlled", (item) => figures.entries.split(", ").includes(String(item.seq))).map(corrected);
    case "record_outcome_missing":
      return [[fill, () => add("outcome", { after: figures.after })]];
    case "record_student_not_cosigned":
      return sign ? [[word("record.sign"), () => sign("co-signed")]] : [];
    default:
      return [[fill, () => add(kind)]];
  }
}
