// What was read in a leak test: kept on this device until the test is begun anew, and put as the server wants it.
const KEPT = "lungeline-check-leak";
const EMPTY = {
  method: "compensating", tried: [], timed: [], phase: "rise", last: {}, rise_flow_l_min: null, volume_l: null, bag_attached: false,
  sample_flow_l_min: 0, peep_cmh2o: 0, waited_s: null, held: false, filled_at: null,
};

/** The readings kept here, or none. */
export function kept() {
  try {
    return { ...structuredClone(EMPTY), ...JSON.parse(sessionStorage.getItem(KEPT) ?? "{}") };
  } catch {
    return structuredClone(EMPTY);
  }
}

export const keep = (state) => sessionStorage.setItem(KEPT, JSON.stringify(state));

/** No readings, of the same circle by the same method. */
export const start = ({ method, volume_l, bag_attached }) => ({ ...structuredClone(EMPTY), method, volume_l, bag_attached });

/** Readings in the order of time, the rise before the fall. */
export function tidy(state) {
  state.timed.sort((a, b) => (a.phase === b.phase ? a.at_s - b.at_s : a.phase === "rise" ? -1 : 1));
  return state;
}

const of = (state, phase) => state.timed.filter((row) => row.phase === phase);
const stood = (state) => state.tried.filter((row) => row.does === "stands");

/** The last flow that held, at each of the last two pressures. */
function twoHeld(state) {
  const last = stood(state).at(-1);
  const other = last && stood(state).filter((row) => row.pressure_cmh2o !== last.pressure_cmh2o).at(-1);
  return last && other ? [last, other] : [];
}

/** What is still to be read before anything can be said. */
export function missing(state) {
  if (state.method === "compensating") return stood(state).length ? [] : ["stands"];
  if (state.method === "two-pressures") return twoHeld(state).length ? [] : ["two_pressures"];
  const lacks = of(state, "fall").length < 2 ? ["fall"] : [];
  if (state.method === "decay") return state.volume_l === null ? [...lacks, "volume"] : lacks;
  if (of(state, "rise").length < 2) lacks.unshift("rise");
  return state.rise_flow_l_min === null ? ["flow", ...lacks] : lacks;
}

/** The test as the server judges it. */
export function asked(state) {
  const circuit = { bag_attached: state.bag_attached, sample_flow_l_min: state.sample_flow_l_min ?? 0, peep_cmh2o: state.peep_cmh2o ?? 0 };
  if (state.volume_l !== null) circuit.volume_l = state.volume_l;
  const test = { method: state.method, values: READ[state.method](state), circuit };
  if (["decay", "rise-fall"].includes(state.method)) return { ...test, waited_s: state.waited_s, held: state.held };
  const looks = state.tried.map((row) => row.look_s).filter((each) => each !== null);
  return looks.length ? { ...test, look_s: Math.min(...looks) } : test;
}

const READ = {
  compensating(state) {
    const last = stood(state).at(-1);
    const there = (does) => state.tried.filter((row) => row.does === does && row.pressure_cmh2o === last.pressure_cmh2o).map((row) => row.flow_l_min);
    const values = { pressure_cmh2o: last.pressure_cmh2o, flow_l_min: last.flow_l_min };
    if (there("rises").length) values.rises_at_l_min = Math.min(...there("rises"));
    if (there("falls").length) values.falls_at_l_min = Math.max(...there("falls"));
    return values;
  },
  "two-pressures"(state) {
    const [last, other] = twoHeld(state);
    return { pressure_cmh2o: last.pressure_cmh2o, flow_l_min: last.flow_l_min, second_pressure_cmh2o: other.pressure_cmh2o, second_flow_l_min: other.flow_l_min };
  },
  decay(state) {
    const [first, last] = [of(state, "fall").at(0), of(state, "fall").at(-1)];
    return { start_cmh2o: first.pressure_cmh2o, end_cmh2o: last.pressure_cmh2o, seconds_s: last.at_s - first.at_s };
  },
  "rise-fall"(state) {
    const [up, top, down, low] = [of(state, "rise").at(0), of(state, "rise").at(-1), of(state, "fall").at(0), of(state, "fall").at(-1)];
    return {
      flow_l_min: state.rise_flow_l_min, rise_from_cmh2o: up.pressure_cmh2o, rise_to_cmh2o: top.pressure_cmh2o, rise_s: top.at_s - up.at_s,
      fall_from_cmh2o: down.pressure_cmh2o, fall_to_cmh2o: low.pressure_cmh2o, fall_s: low.at_s - down.at_s,
    };
  },
};

/** The pressures of a phase with their times from its first. */
export function course(state, phase) {
  const rows = of(state, phase);
  return rows.map((row) => [row.at_s - rows[0].at_s, row.pressure_cmh2o]);
}

/** The leaks that were read off a flowmeter, with their pressures. */
export const heldLeaks = (state) => stood(state).map((row) => [row.pressure_cmh2o, row.flow_l_min * 1000 - (state.sample_flow_l_min ?? 0) * 1000]);
