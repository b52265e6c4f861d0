// The forms of a step become taps that are kept on the device first. Without script the same forms go to the server by themselves.
import { question } from "./check.js";
import "./keypad.js";
import { again } from "./page.js";
import { small } from "./photo.js";
import { add, draw, moment, places, send, waiting } from "./queue.js";

const card = document.getElementById("card");
const { lot, step, code, wafer } = card.dataset;
const WORDS = ["kind", "name", "value", "unit", "text", "about"];
// After these the step goes on as it is; a page with a half-written form can wait for them.
const PASSING = ["start", "set", "seen", "measured", "photo", "note", "timer"];
const REST = 600, HAND = 6000, LOOK = 2000;

// How far this page knows the record, and what the server has that the page does not show yet because a hand was at work.
let seen = card.dataset.seen;
const late = [];

// A name is asked for once, also where a page was kept before it was known.
const asked = document.getElementById("who");
function nameOnce() {
  const known = localStorage.getItem("who");
  if (!asked || !known) return;
  asked.value = known;
  asked.closest(".field").hidden = true;
}
nameOnce();

/** After a page came or a tap was taken, a second touch at the same place does nothing. */
function rest() {
  const bar = document.getElementById("bar");
  bar.inert = true;
  setTimeout(() => (bar.inert = false), REST);
}

/** What finishes the step: all that nobody entered yet as planned, but for the value that is entered now. */
function restOf(name) {
  const all = [...document.querySelectorAll("#do-finish input[name=entry]")];
  return all.filter((each) => each.dataset.set !== name).map((each) => JSON.parse(each.value));
}

function tapOf(form, sent, submitter) {
  const entries = sent.getAll("entry").map((each) => JSON.parse(each));
  if (submitter?.dataset.rest !== undefined) entries.push(...restOf(String(sent.get("name"))));
  if (sent.get("kind")) entries.unshift(Object.fromEntries(WORDS.map((each) => [each, String(sent.get(each) || "")])));
  const named = asked?.value.trim();
  if (named) localStorage.setItem("who", named);
  return {
    id: String(sent.get("entry_id") || draw()),
    lot, step, code,
    wafers: wafer ? [wafer] : [],
    seen: seen === "" ? null : Number(seen),
    who: named || card.dataset.who,
    happened: moment(),
    sure: form.dataset.sure === "yes",
    entries: entries.filter((each) => each.kind !== "photo"),
  };
}

/** Ask in the form itself: what was probably meant, or a second tap. */
function ask(form, asked, submitter) {
  form.querySelector(".asked")?.remove();
  const box = document.createElement("div");
  box.className = "asked";
  box.setAttribute("role", "alert");
  const said = document.createElement("p");
  said.textContent = asked.said;
  box.append(said);
  const offer = (word, act) => {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "choice";
    button.textContent = word;
    button.addEventListener("click", () => {
      act();
      box.remove();
      form.requestSubmit(submitter || null);
    });
    box.append(button);
  };
  const field = form.querySelector("input[name=value]");
  if (asked.meant)
    offer(`${asked.meant} ${asked.unit}`, () => {
      field.value = asked.meant;
      const unit = [...form.querySelectorAll("input[name=unit]")].find((each) => each.value === asked.unit);
      if (unit) unit.type === "radio" ? (unit.checked = true) : (unit.value = asked.unit);
    });
  offer(`Keep ${field.value}`, () => (form.dataset.sure = "yes"));
  form.append(box);
  box.querySelector("button").focus();
}

async function take(form, submitter) {
  if (form.dataset.since !== undefined) elapsed(form);
  const doubt = form.dataset.sure === "yes" ? null : question(form);
  if (doubt) return ask(form, doubt, submitter);
  if (form.dataset.busy) return;
  form.dataset.busy = "yes";
  rest();
  try {
    const sent = new FormData(form, submitter), tap = tapOf(form, sent, submitter);
    const file = sent.get("photo");
    if (file instanceof File && file.size) {
      tap.photo = await small(file);
      tap.entries.push({ kind: "photo", name: "photo", text: String(sent.get("text") || "") });
    }
    if (!tap.entries.length) return;
    await add(tap);
    const reached = await taken(tap);
    if (reached) {
      const passing = places.has(tap.id) && tap.entries.every((each) => PASSING.includes(each.kind));
      if (!passing || !atWork(form)) return again();
      late.push(tap);
      seen = String(Math.max(Number(seen), places.get(tap.id)));
    }
    fresh(form);
    await overlay();
  } finally {
    delete form.dataset.busy;
  }
}

/** Whether the server has the tap now. A sending that was on its way already when the tap was written down went without it. */
async function taken(tap) {
  for (let tries = 2; tries && (await send()); tries--) {
    const left = (await waiting()).find((each) => each.id === tap.id);
    if (!left) return true;
    if (left.state !== "waiting") break;
  }
  return false;
}

/** Whether a hand is in the middle of another form, which a page that comes anew would take away from under it. */
function atWork(mine) {
  const field = document.activeElement;
  const open = [...document.querySelectorAll("main details[open], .bar details[open]")].filter((each) => each.querySelector("form"));
  return open.some((each) => !each.contains(mine)) || Boolean(field?.matches("input, textarea") && (!mine || field.form !== mine));
}

/** The form can be used again for another entry. */
function fresh(form) {
  form.reset();
  nameOnce();
  delete form.dataset.sure;
  if (form.dataset.since !== undefined) form.querySelector("input[name=value]").value = "";
  const id = form.querySelector("input[name=entry_id]");
  if (id) id.value = draw();
  form.closest("details")?.removeAttribute("open");
}

/** Seconds since the step was started, for an end point that is seen now. */
function elapsed(form) {
  const field = form.querySelector("input[name=value]");
  if (field.value.trim()) return;
  const since = new Date(form.dataset.since);
  if (!Number.isNaN(since.getTime())) {
    field.value = String(Math.max(1, Math.round((Date.now() - since) / 1000)));
    const second = form.querySelector("input[name=unit][value=s]");
    if (second) second.checked = true;
  }
}

const stages = { start: "running", finish: "done", skip: "done", hold: "done" };
const stateWords = { running: "Running", done: "Done" };

/** What waits on the device, and what the page does not have from the server yet, shown as done already. */
async function overlay() {
  const all = await waiting();
  const mine = [...late, ...all].filter(
    (tap) => tap.lot === lot && tap.step === step && (!wafer || !tap.wafers.length || tap.wafers.includes(wafer)),
  );
  document.querySelectorAll("#entries .here").forEach((each) => each.remove());
  const list = document.getElementById("entries");
  let stage = card.dataset.stage;
  // The hold point before this step was decided on this device.
  const free = (tap) => tap.step === card.dataset.hold && tap.entries.some((each) => each.kind === "hold" && each.name === "go");
  const reason = (tap) => tap.step === step && tap.entries.some((each) => each.kind === "acknowledge");
  if (stage === "blocked" && all.some((tap) => tap.lot === lot && (free(tap) || reason(tap)))) stage = "ready";
  for (const tap of mine) {
    for (const each of tap.entries) {
      stage = stages[each.kind] || stage;
      if (each.kind === "hold" && each.name !== "go") stage = card.dataset.stage;
      if (each.kind === "start")
        document.querySelectorAll("form[data-since]").forEach((form) => (form.dataset.since = tap.happened));
      if (each.kind === "set") {
        const actual = document.querySelector(`[data-actual="${CSS.escape(each.name)}"]`);
        if (actual) actual.textContent = `${each.value} ${each.unit} entered`;
        document.querySelectorAll("input[name=entry][data-set]").forEach((input) => input.dataset.set === each.name && input.remove());
      }
      const item = document.createElement("li");
      item.className = "here";
      const words = [each.kind, each.name, each.value, each.unit, each.text].filter(Boolean).join(" ");
      item.textContent = `${tap.happened.slice(11, 16)} ${words} · ${late.includes(tap) ? "saved on the server" : "saved here"}`;
      list.prepend(item);
    }
  }
  // Where wafers stand differently one of them is chosen first, whatever waits here.
  if (card.dataset.stage === "choose") stage = "choose";
  for (const each of document.querySelectorAll("[data-for-stage]")) each.hidden = each.dataset.forStage !== stage;
  for (const each of document.querySelectorAll("[data-while-running]")) each.hidden = stage !== "running";
  const state = document.getElementById("state-word");
  if (state && stage !== card.dataset.stage && stateWords[stage]) state.textContent = stateWords[stage];
}

document.addEventListener(
  "submit",
  (event) => {
    const form = event.target;
    if (!form.matches("form[data-tap]")) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    take(form, event.submitter);
  },
  true,
);
// A page that comes anew under a hand takes away what the hand was about to touch.
let touched = 0;
for (const each of ["pointerdown", "keydown"]) addEventListener(each, () => (touched = Date.now()), true);
const free = () => !document.querySelector("form[data-busy]") && !atWork(null) && Date.now() - touched > HAND;

// What is worked out is asked for for two minutes.
let tries = 60;

/** Whether the server has more to show than this page. */
async function newer() {
  if (late.length) return true;
  if (card.dataset.working === undefined || tries-- < 1) return false;
  const answer = await fetch(`/lot/${lot}/step/${code}/mark${location.search}`, { headers: { accept: "application/json" } });
  const { mark, working } = await answer.json();
  return mark !== card.dataset.mark || !working;
}

/** What is worked out beside the page, or was kept while a hand was at work, comes in when the hand is free. */
function more() {
  setTimeout(async () => {
    // Without network nothing more is worked out; the page stays as it is.
    const come = await newer().catch(() => false);
    if (come && free()) return again();
    more();
  }, LOOK);
}

rest();
overlay().finally(() => (card.dataset.ready = "yes"));
more();
