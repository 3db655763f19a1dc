// Figures as the shop writes them: lengths in the script's unit, weights and volumes to what is worth reading.

import { by } from "./hub.js";

const MM_PER_IN = 25.4;
const KG_PER_LB = 0.45359237;

let unit = "mm";

export function useUnit(name) { unit = name === "in" ? "in" : "mm"; }

export const unitName = () => unit;

// From the script's unit to mm.
export const toMm = (x) => (unit === "in" ? x * MM_PER_IN : x);
export const fromMm = (mm) => (unit === "in" ? mm / MM_PER_IN : mm);

// A length that a slider and the field beside it show and set. `range` gives the slider's ends, `move` hears of it (mm).
export class Slide {
  constructor(name, range, move) {
    Object.assign(this, { slider: by(`${name}at`), field: by(`${name}field`), range });
    this.slider.addEventListener("input", () => {
      const [low, high] = range();
      move(low + (high - low) * this.slider.value / this.slider.max);
    });
    this.field.addEventListener("change", () => {
      const at = toMm(Number(this.field.value.replace(",", ".")));
      move(Number.isFinite(at) ? at : this.at);
    });
  }

  show(at) {
    const [low, high] = this.range();
    this.at = at;
    this.slider.value = (at - low) / (high - low) * this.slider.max;
    this.slider.ariaValueText = length(at);
    this.field.value = bare(at);
  }
}

// A length, without its unit: hundredths of a mm, thousandths of an inch.
export function bare(mm) {
  const text = fromMm(mm).toFixed(unit === "in" ? 3 : 2);
  return /^-0\.?0*$/.test(text) ? text.slice(1) : text;
}

export const length = (mm) => `${bare(mm)} ${unit}`;

// Lengths to overall accuracy, for the title block.
export function overall(sizes) {
  const places = unit === "in" ? 2 : 1;
  return `${sizes.map((mm) => String(+fromMm(mm).toFixed(places))).join(" × ")} ${unit}`;
}

export function weight(kg) {
  if (!Number.isFinite(kg)) return "–";
  return kg < 0.1 ? `${(kg * 1000).toPrecision(3)} g` : kg < 1 ? `${Math.round(kg * 1000)} g` : `${kg.toFixed(2)} kg`;
}

// With pounds beside it where the script is in inches.
export function weightBoth(kg) {
  if (unit !== "in" || !Number.isFinite(kg)) return weight(kg);
  const lb = kg / KG_PER_LB;
  return `${weight(kg)} · ${lb < 1 ? `${(lb * 16).toFixed(1)} oz` : `${lb.toFixed(2)} lb`}`;
}

export function volume(mm3) {
  const size = Math.abs(mm3);
  if (unit === "in") return `${(size / MM_PER_IN ** 3).toPrecision(3)} in³`;
  return size < 1000 ? `${size.toPrecision(3)} mm³` : `${three(size / 1000)} cm³`;
}

const three = (x) => (x >= 100 ? Math.round(x).toLocaleString("en") : x.toPrecision(3));

export const many = (n, one, more = `${one}s`) => `${n} ${n === 1 ? one : more}`;
