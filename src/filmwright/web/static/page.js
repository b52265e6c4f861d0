// What every page needs: the sign that says where entries are, and one address for form tokens.
export const token = document.documentElement.dataset.token;
export const lot = document.documentElement.dataset.lot || "";

const words = {
  server: "saved on the server",
  here: "saved here",
  sending: "sending",
};

/** Say in the head where the last entry is: "server", "here" (with how many wait) or "sending". */
export function kept(state, waiting = 0) {
  const place = document.getElementById("kept");
  if (!place) return;
  place.dataset.state = state;
  place.querySelector("span:last-child").textContent = words[state] + (waiting ? ` (${waiting})` : "");
}

// A double tap sends once: the button rests until the page changes; the id in the form guards the rest.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.dataset.sent) {
    event.preventDefault();
    return;
  }
  form.dataset.sent = "yes";
  setTimeout(() => delete form.dataset.sent, 4000);
});
