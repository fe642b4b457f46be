// Small parts of pages: elements, boxes that are only touched where something changed, steps of numbers.

// smaller animals, smaller steps of volumes and flows
const weightKg = Number(document.getElementById("enter")?.dataset.weight) || 500;
const share = weightKg >= 200 ? 1 : weightKg >= 80 ? 0.4 : 0.1;

/** The step of a number's stepper, for this animal. step: of a grown horse. */
export const stepFor = (name, step) => (/_(l|l_min)$/.test(name) ? step * share : step);

/** Make an element; attributes that are properties, `dataset`, and `aria`, where role stands too; nothing inside is left out. */
export const make = (tag, attributes = {}, ...inside) => {
  const { dataset, aria = {}, ...own } = attributes;
  const element = Object.assign(document.createElement(tag), own);
  Object.assign(element.dataset, dataset);
  for (const [name, value] of Object.entries(aria)) element.setAttribute(name === "role" ? name : `aria-${name}`, value);
  element.append(...inside.filter((each) => each !== null && each !== undefined));
  return element;
};

const shown = new WeakMap();

/** Put elements into a box where they differ from what stands there: `key` tells, so that nothing in use is replaced. */
export function put(box, key, build) {
  const told = JSON.stringify(key);
  if (shown.get(box) === told) return;
  shown.set(box, told);
  box.replaceChildren(...build());
}
