// A still picture: what is seen, what is written over it, and a line that says what it is.

import { make, note } from "./hub.js";
import { overall } from "./figures.js";

export function save(view, { canvas: written, ink, ground }, state, stage) {
  view.draw(view.slow ? 1.6 : 1);
  const { canvas } = view;
  const foot = Math.round(34 * view.sharp);
  const sheet = make("canvas");
  [sheet.width, sheet.height] = [canvas.width, canvas.height + foot];
  const pen = sheet.getContext("2d");
  pen.fillStyle = ground;
  pen.fillRect(0, 0, sheet.width, sheet.height);
  pen.drawImage(canvas, 0, 0);
  pen.drawImage(written, 0, 0, canvas.width, canvas.height);
  pen.fillStyle = ink;
  pen.font = `600 ${Math.round(13 * view.sharp)}px system-ui, sans-serif`;
  pen.textBaseline = "middle";
  const size = state.stages.find((s) => s.name === stage);
  const text = [state.part, stage, size && overall(size.high_mm.map((h, i) => h - size.low_mm[i])), state.metal, state.stale && "before the last save"];
  pen.fillText(text.filter(Boolean).join("  ·  "), 14 * view.sharp, canvas.height + foot / 2);
  sheet.toBlob((blob) => {
    if (!blob) return note("The picture could not be made.");
    const link = make("a");
    link.href = URL.createObjectURL(blob);
    link.download = `${(state.part || "part").replace(/[^\w.-]+/g, "-")}-${stage}.png`;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 30000);
    note(`Saved ${link.download}`);
  }, "image/png");
}
