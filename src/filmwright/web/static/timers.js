// Counts down to an end time that the server wrote. Only the end is kept, so a reload or a closed tablet changes nothing.
function left(seconds) {
  const all = Math.abs(seconds);
  const hours = Math.floor(all / 3600);
  const minutes = String(Math.floor((all % 3600) / 60));
  const rest = String(all % 60).padStart(2, "0");
  const shown = hours ? `${hours}:${minutes.padStart(2, "0")}:${rest}` : `${minutes}:${rest}`;
  return seconds < 0 ? `+${shown}` : shown;
}

/** Bring every timer of the page up to now. */
export function tick() {
  for (const timer of document.querySelectorAll(".timer[data-ends]")) {
    const seconds = Math.round((Date.parse(timer.dataset.ends) - Date.now()) / 1000);
    const place = timer.querySelector(".timer-left");
    place.textContent = left(seconds);
    const over = seconds < 0;
    if (over && !("over" in timer.dataset)) {
      timer.dataset.over = "";
      timer.dispatchEvent(new CustomEvent("timer-over", { bubbles: true }));
    }
  }
}

tick();
setInterval(tick, 500);
