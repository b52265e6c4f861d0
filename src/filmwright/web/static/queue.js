// Taps wait on the device until the server has them: each is written down here first, then sent in order, once.
import { kept, token, who } from "./page.js";

const BASE = "filmwright", STORE = "taps", BATCH = 40, AGAIN = 15000;
let opened;

/** Where in the record the taps of this page came to lie, by their ids. */
export const places = new Map();

function base() {
  opened ??= new Promise((done, fail) => {
    const asked = indexedDB.open(BASE, 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore(STORE, { keyPath: "n", autoIncrement: true });
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => fail(asked.error);
  });
  return opened;
}

/** One transaction over the taps; resolves when it is on the disk, not when it was asked for. */
async function store(mode, use) {
  const held = (await base()).transaction(STORE, mode, { durability: "strict" });
  const asked = use(held.objectStore(STORE));
  return new Promise((done, fail) => {
    held.oncomplete = () => done(asked?.result);
    held.onerror = held.onabort = () => fail(held.error);
  });
}

/** All taps that are not on the server yet, in their order. */
export const waiting = () => store("readonly", (taps) => taps.getAll());
export const change = (tap) => store("readwrite", (taps) => taps.put(tap));
/** Give up a tap that a person has decided about. */
export const forget = (tap) => store("readwrite", (taps) => taps.delete(tap.n));

/** An id that no other device draws; also where the browser offers none (plain HTTP). */
export function draw() {
  if (crypto.randomUUID) return crypto.randomUUID();
  const b = crypto.getRandomValues(new Uint8Array(16));
  b[6] = (b[6] & 0x0f) | 0x40;
  b[8] = (b[8] & 0x3f) | 0x80;
  const hex = [...b].map((each) => each.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}

/** Local time with its offset, as the record wants it. */
export function moment(when = new Date()) {
  const offset = -when.getTimezoneOffset(), two = (n) => String(Math.trunc(Math.abs(n))).padStart(2, "0");
  const local = new Date(when.getTime() + offset * 60000).toISOString().slice(0, 19);
  return `${local}${offset < 0 ? "-" : "+"}${two(offset / 60)}:${two(offset % 60)}`;
}

/** Write a tap down on this device; when this resolves it survives a closed tablet. */
export async function add(tap) {
  await store("readwrite", (taps) => taps.add({ ...tap, state: "waiting" }));
  await show();
}

/** Say in the head what is here and what is on the server. */
export async function show() {
  const taps = await waiting();
  const asked = taps.filter((each) => each.state !== "waiting");
  const last = localStorage.getItem("kept");
  if (taps.length) kept("here", taps.length - asked.length, asked.length);
  else kept("server", 0, 0, last ? new Date(last) : null);
  document.dispatchEvent(new CustomEvent("taps", { detail: taps }));
  return taps;
}

async function photo(tap) {
  const form = new FormData();
  form.append("photo", tap.photo, "photo.jpg");
  const answer = await fetch("/photos", { method: "POST", body: form, headers: head() });
  // Only a photo that can never be kept is for a person to decide; all else passes, and the same is sent again.
  if (away(answer)) throw new Error(String(answer.status));
  const said = await answer.json();
  if (!answer.ok) return { ...said, state: "refused" };
  tap.entries = tap.entries.map((each) => (each.kind === "photo" ? { ...each, sha256: said.sha256 } : each));
  delete tap.photo;
  await change(tap);
  return null;
}

/** Whether the answer says nothing about what was sent: nobody is signed in, too much at once, or the record does not answer. */
function away(answer) {
  if (answer.status === 401 || answer.status === 403) document.dispatchEvent(new CustomEvent("signed-out"));
  return [401, 403, 429].includes(answer.status) || answer.status >= 500;
}

const head = () => ({ accept: "application/json", "x-form-token": token });

async function post(taps) {
  const clean = taps.map(({ n, state, answer, label, photo: _, ...tap }) => tap);
  const answer = await fetch("/queue", {
    method: "POST",
    headers: { ...head(), "content-type": "application/json" },
    body: JSON.stringify({ clock: moment(), who: clean[0].who, taps: clean }),
  });
  if (away(answer) || !answer.ok) throw new Error(String(answer.status));
  return (await answer.json()).answers;
}

async function settle(taps, answers) {
  for (const [k, tap] of taps.entries()) {
    const answer = answers[k];
    if (!answer || answer.state === "later") continue;
    if (answer.state === "kept" || answer.state === "already there") {
      localStorage.setItem("kept", answer.kept || moment());
      places.set(tap.id, answer.position);
      await chain(tap, answer.position);
      await forget(tap);
    } else {
      await change({ ...tap, state: answer.state, answer });
    }
  }
}

/** What follows at the same step was made with this tap in mind: it has seen it. */
async function chain(tap, position) {
  for (const each of await waiting()) {
    if (each.n > tap.n && each.lot === tap.lot && each.step === tap.step && each.seen !== null && each.seen < position)
      await change({ ...each, seen: position });
  }
}

/** The longest beginning of the queue that can be sent: a step whose earlier tap waits for a person waits with it. */
function ready(taps) {
  const stuck = new Set(), found = [];
  for (const tap of taps) {
    const place = `${tap.lot} ${tap.step}`;
    if (tap.state !== "waiting") stuck.add(place);
    else if (!stuck.has(place)) found.push(tap);
  }
  return found;
}

/** Who comes back sends what is theirs without being asked. */
async function back() {
  for (const tap of await waiting())
    if (tap.state === "another's" && tap.who === who) await change({ ...tap, state: "waiting", answer: null });
}

async function sendAll() {
  await back();
  for (;;) {
    const taps = ready(await waiting());
    if (!taps.length) return true;
    if (taps[0].photo) {
      const bad = await photo(taps[0]);
      if (bad) await change({ ...taps[0], state: "refused", answer: bad });
      continue;
    }
    const upto = taps.findIndex((each) => each.photo);
    const batch = taps.slice(0, upto < 0 ? BATCH : Math.min(upto, BATCH));
    kept("sending");
    await settle(batch, await post(batch));
  }
}

let sending = null;

/** Send what waits; resolves to whether the server was reached. One page of the device sends at a time. */
export function send() {
  const run = () => sendAll().catch(() => false);
  sending ??= (navigator.locks ? navigator.locks.request("filmwright-send", run) : run()).finally(() => {
    sending = null;
    show();
  });
  return sending;
}

addEventListener("online", send);
document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && send());
setInterval(async () => (await waiting()).some((each) => each.state === "waiting") && send(), AGAIN);
