// The slider shows its moment when it is let go; a page that waits for the emulation comes again when there is something new.
import { again } from "./page.js";

const slider = document.getElementById("at");
slider?.addEventListener("change", () => slider.form.requestSubmit());

const wafer = document.getElementById("wafer");
const EVERY = 2000;

async function look() {
  try {
    const answer = await fetch(wafer.dataset.known, { headers: { accept: "application/json" } });
    const known = await answer.json();
    // The last section comes first, those of the past and the devices when all is worked out.
    if (String(known.position) !== wafer.dataset.position || !known.working) return again();
  } catch {
    // Without network the page stays as it is and asks again later.
  }
  setTimeout(look, EVERY);
}
if (wafer?.dataset.working === "yes") setTimeout(look, EVERY);
