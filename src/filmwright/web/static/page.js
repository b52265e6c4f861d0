// What every page needs: the sign that says where entries are, and one address for form tokens.
export const token = document.documentElement.dataset.token;
export const who = document.documentElement.dataset.who || "";
export const lot = document.documentElement.dataset.lot || "";

const words = {
  server: "saved on the server",
  here: "saved here",
  sending: "sending",
};

/** Say in the head where the last entry is: "server", "here" (with how many wait, how many ask) or "sending". */
export function kept(state, waiting = 0, asking = 0, when = null) {
  const place = document.getElementById("kept");
  if (!place) return;
  place.dataset.state = asking ? "conflict" : state;
  const clock = when && `at ${String(when.getHours()).padStart(2, "0")}:${String(when.getMinutes()).padStart(2, "0")}`;
  const more = [waiting && `${waiting} waiting`, asking && `${asking} to decide`].filter(Boolean).join(", ");
  const said = [words[state], clock].filter(Boolean).join(" ") + (more ? ` · ${more}` : "");
  place.querySelector(".words").textContent = said;
}

/** Load the page anew. Until it is there nothing takes a touch that would be lost with the old one. */
export function again() {
  document.body.inert = true;
  location.reload();
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
