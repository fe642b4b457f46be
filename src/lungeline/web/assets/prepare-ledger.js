// Spare gas as a ledger from empty to full: one breath, what the next manoeuvre needs, the ceiling; beside it what
// flows in and out in a minute. The mark is the lowest content of a breath, as it stands, not moved for show.
import { word } from "./given.js";
import { textOf } from "./measures.js";

const FLOWS = [
  ["in", "fresh_gas_l"], ["in", "room_air_l"], ["out", "oxygen_used_l"], ["out", "leaked_l"], ["out", "sampled_l"], ["out", "spilled_l"],
];
const AT_MIN = [[0, "prepare.first_minute"], [29, "prepare.minute_30"]];

const made = (tag, className, text = "") => {
  const element = document.createElement(tag);
  element.className = className;
  element.textContent = text;
  return element;
};

// The server names manoeuvres in English; the catalogue says them in the person's language.
const SAID = [
  [/^one deep breath of ([\d.]+) tidal volumes$/, "prepare.manoeuvre_deep"],
  [/^recruitment (.+) cmH2O$/, "prepare.manoeuvre_recruitment"],
  [/^PEEP (.+) cmH2O$/, "prepare.manoeuvre_peep"],
];
function said(name) {
  for (const [form, key] of SAID) {
    const found = name.match(form);
    if (found) return word(key).replace("{0}", found[1]);
  }
  return name;
}

/** Make the ledger; choices: where the manoeuvres to choose from stand; columns: which minutes, and their words. */
export function ledger(box, choices, columns = AT_MIN) {
  let chosen = 0;
  let last = null;
  const legend = choices.querySelector("legend");

  let offered = "";
  function offer(manoeuvres) {
    const names = manoeuvres.map((each) => each.name).join("|");
    if (names === offered) return; // what somebody has in hand is not replaced
    offered = names;
    choices.replaceChildren(legend, ...manoeuvres.map((each, i) => {
      const label = made("label", "");
      const radio = made("input", "");
      Object.assign(radio, { type: "radio", name: "manoeuvre", value: i, checked: i === chosen });
      radio.onchange = () => {
        chosen = i;
        draw();
      };
      label.append(radio, made("span", "", said(each.name)));
      return label;
    }));
  }

  function draw() {
    const { settings, minutes, spare, equipment } = last;
    const capacity = equipment.reservoir_capacity_l;
    const place = (litres) => `${Math.min(Math.max((litres / capacity) * 100, 0), 100)}%`;
    const breath = settings.tidal_volume_l;
    const ceiling = Math.min(breath + settings.spare_volume_l, capacity);
    const need = spare.manoeuvres[chosen];
    const lowest = Math.max(minutes.lowest_reservoir_l[0], 0);
    const short = need ? Math.max(need.needed_l - settings.spare_volume_l, 0) : 0;
    const bar = made("div", "rail");
    const span = (className, from, to) => {
      const part = made("span", `part ${className}`);
      part.style.left = place(from);
      part.style.width = `calc(${place(to)} - ${place(from)})`;
      bar.append(part);
    };
    span("held", 0, ceiling);
    span("breath", Math.max(ceiling - breath, 0), ceiling);
    if (need) span("need", 0, need.needed_l);
    const marks = [
      ["stop", 0, word("prepare.empty_stop")],
      ["lowest", lowest, word("prepare.lowest")],
      ...(need ? [["wanted", need.needed_l, word("prepare.manoeuvre_needs")]] : []),
      ["ceiling", ceiling, word("prepare.ceiling")],
      ["capacity", capacity, word("prepare.capacity")],
    ];
    marks.forEach(([kind, at]) => {
      const tick = made("span", `tick ${kind}`);
      tick.style.left = place(at);
      bar.append(tick);
    });
    bar.setAttribute("role", "img");
    bar.setAttribute("aria-label", marks.map(([, at, text]) => `${text} ${textOf("x_l", at)}`).join("; "));
    const list = made("ul", "marks");
    list.append(...[["breath", breath, word("prepare.one_breath")], ...marks].map(([kind, at, text]) => {
      const item = made("li", kind);
      item.append(made("span", `sign ${kind}`), made("span", "", text), made("strong", "", textOf("x_l", at)));
      return item;
    }));
    const verdict = made("p", "finding");
    if (need) {
      verdict.dataset.severity = short > 0 ? "caution" : "note";
      verdict.append(made("span", "rank", short > 0 ? word("prepare.rank_caution") : "✓"), made("span", "", short > 0
        ? `${said(need.name)}: ${word("prepare.short_by")} ${textOf("x_l", short)}. ${need.one_delivery ? word("prepare.raise_first") : word("prepare.beyond_reservoir")}`
        : `${said(need.name)}: ${word("prepare.gas_is_there")}`));
    }
    const left = made("div", "");
    left.append(bar, list, ...(need ? [verdict] : []));
    box.replaceChildren(left, flows(minutes));
  }

  function flows(minutes) {
    const table = made("table", "flows");
    const head = made("tr", "");
    head.append(made("th", "", word("prepare.each_minute")));
    columns.forEach(([, text]) => head.append(made("th", "number", word(text))));
    table.append(head);
    FLOWS.forEach(([way, name]) => {
      const line = made("tr", "");
      line.append(made("th", "", `${way === "in" ? "→ " : "← "}${word(`prepare.flow_${name}`)}`));
      columns.forEach(([place]) => {
        const value = minutes[name][Math.min(place, minutes[name].length - 1)];
        line.append(made("td", "number", textOf("x_l", Math.round(value * 100) / 100)));
      });
      table.append(line);
    });
    return table;
  }

  return {
    show(settings, minutes, spare, equipment) {
      last = { settings, minutes, spare, equipment };
      if (chosen >= spare.manoeuvres.length) chosen = 0;
      offer(spare.manoeuvres);
      draw();
    },
  };
}
