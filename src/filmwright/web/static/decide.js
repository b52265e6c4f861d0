// What the server could not keep as it was sent is shown with both versions; a person decides, and the choice is recorded.
import { again, who } from "./page.js";
import { change, draw, forget, moment, send, waiting } from "./queue.js";

function element(name, text = "", kind = "") {
  const made = document.createElement(name);
  made.textContent = text;
  if (kind) made.className = kind;
  return made;
}

function button(word, kind, act) {
  const made = element("button", word, kind);
  made.type = "button";
  made.addEventListener("click", async () => {
    made.disabled = true;
    await act();
    await send();
    again();
  });
  return made;
}

const clock = (text) => text.slice(11, 16);

function lines(title, said) {
  const part = element("div");
  const list = element("ul");
  list.append(...said.map((each) => element("li", each)));
  part.append(element("h3", title), list);
  return part;
}

const told = (tap) =>
  tap.entries.map((each) => [each.kind, each.name, each.value, each.unit, each.text].filter(Boolean).join(" "));

function conflict(tap) {
  const { answer } = tap;
  const theirs = answer.newer.map((each) => `${clock(each.happened)} ${each.who} ${each.what}${each.wafer ? ` (${each.wafer})` : ""}`);
  const anew = (choice) => () => change({ ...tap, choice, seen: answer.position, state: "waiting", answer: null });
  return [
    lines("On the server", theirs),
    lines("On this tablet", answer.mine.map((each) => `${clock(tap.happened)} ${tap.who} ${each}`)),
    button("Theirs hold, mine becomes a note", "choice", anew("theirs")),
    button("Mine hold, theirs stay readable", "choice", anew("mine")),
  ];
}

function question(tap) {
  return [
    lines("On this tablet", told(tap)),
    button("Keep it as entered", "choice", () => change({ ...tap, sure: true, state: "waiting", answer: null })),
    button("Do not keep it", "choice", () => forget(tap)),
  ];
}

function refused(tap) {
  const text = `could not be kept as entered (${tap.answer.said}): ${told(tap).join("; ")}`.slice(0, 2000);
  const note = { n: tap.n, id: draw(), lot: tap.lot, step: tap.step, code: tap.code, wafers: tap.wafers, seen: null };
  const entries = [{ kind: "note", text }];
  return [
    lines("On this tablet", told(tap)),
    button("Send it again", "choice", () => change({ ...tap, state: "waiting", answer: null })),
    button("Keep it as a note", "choice", () =>
      change({ ...note, entries, who: tap.who, happened: tap.happened || moment(), state: "waiting" })),
  ];
}

/** What another person entered on this tablet: nothing goes in anybody's name before somebody says whose it is. */
function others(name, taps) {
  const all = (more) => async () => {
    for (const tap of taps) await change({ ...tap, ...more, state: "waiting", answer: null });
  };
  const box = element("section", "", "decide");
  const link = element("a", `${name} signs in and sends them`, "choice");
  link.href = `/switch?name=${encodeURIComponent(name)}&back=${encodeURIComponent(location.pathname + location.search)}`;
  box.setAttribute("role", "alert");
  box.append(
    element("h2", `Of ${name}, not sent yet: ${taps.length} ${taps.length === 1 ? "entry" : "entries"}`),
    lines("On this tablet", taps.map((tap) => `${clock(tap.happened)} ${tap.code || tap.step} ${told(tap).join("; ")}`)),
    link,
    button(`${name} did this, I send it`, "choice", all({ passed: true })),
    button(who ? `I did this, I am ${who}` : "I did this", "choice", all({ who: "" })),
  );
  return box;
}

const ASK = { conflict, question, refused };

/** Show all taps that wait for a person. */
export async function decide() {
  const place = document.getElementById("notices");
  if (!place) return;
  place.querySelectorAll(".decide").forEach((each) => each.remove());
  const taps = await waiting(), strange = taps.filter((each) => each.state === "another's");
  for (const name of new Set(strange.map((each) => each.who)))
    place.append(others(name, strange.filter((each) => each.who === name)));
  for (const tap of taps) {
    const parts = ASK[tap.state]?.(tap);
    if (!parts) continue;
    const box = element("section", "", "decide");
    box.setAttribute("role", "alert");
    box.append(element("h2", `${tap.code || tap.step || tap.lot}: ${tap.answer.said}`), ...parts);
    place.append(box);
  }
}

/** Who is no longer signed in keeps what was entered; it goes when somebody signs in. */
function signIn() {
  const place = document.getElementById("notices");
  if (!place || place.querySelector(".sign-in")) return;
  const said = element("p", "What was entered is safe on this tablet and is sent after somebody signs in. ", "sign-in");
  const link = element("a", "Sign in");
  link.href = `/sign-in?back=${encodeURIComponent(location.pathname + location.search)}`;
  said.append(link);
  place.append(said);
}

document.addEventListener("taps", decide);
document.addEventListener("signed-out", signIn);
