// Brings what is at work now into sight; without script the grid begins at its first step.
const sheet = document.querySelector(".grid-sheet");
const now = sheet && sheet.querySelector("tbody.opened, td.now");
if (now && !location.hash) {
  const head = sheet.querySelector("thead").offsetHeight;
  const row = now.closest("tbody");
  sheet.scrollTop = Math.max(0, row.offsetTop - head - 1.5 * (row.rows[0].offsetHeight || 0));
}
