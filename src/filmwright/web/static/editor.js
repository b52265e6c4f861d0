// The plan's text: a plain text field with lines, findings and offers around it. The field stays the one source of the text; what is
// drawn behind it is never read back. Undo is the browser's own, because every change goes through insertText.
import { token } from "./page.js";

const frame = document.querySelector("[data-editor]");
const field = frame?.querySelector("textarea");
const SIGNS = { error: "✕", stop: "■", warn: "▲", note: "●" };
const WORDS = { error: "cannot be read", stop: "stop", warn: "warn", note: "note" };
const $ = (id) => document.getElementById(id);

function made(tag, words = "", options = {}) {
  const node = document.createElement(tag);
  if (words) node.textContent = words;
  for (const [name, value] of Object.entries(options)) {
    if (name === "class") node.className = value;
    else if (value !== false && value !== undefined) node.setAttribute(name, value);
  }
  return node;
}

async function ask(what, content, signal) {
  const answer = await fetch(`${frame.dataset.action}/${what}`, {
    method: "POST",
    headers: { "content-type": "application/json", accept: "application/json", "x-form-token": token },
    body: JSON.stringify({ text: field.value, ...content }),
    signal,
  });
  const told = await answer.json();
  if (!answer.ok) throw new Error(told.problems?.[0]?.got || told.said || "no answer");
  return told;
}

// Lines, marks and soft grounds behind the text

const gutter = made("div");
const paint = frame?.querySelector(".paint");
let marks = [];

function pieces(line) {
  const found = [];
  const remark = line.search(/(^|\s)#/);
  const body = remark < 0 ? line : line.slice(0, remark);
  const key = body.match(/^(\s*(?:- +)*)([^:#{}[\],]+:)(?=\s|$)/);
  let rest = body;
  if (key) {
    found.push(["", key[1]], ["key", key[2]]);
    rest = body.slice(key[0].length);
  }
  for (const part of rest.split(/((?<![\w.])[-+]?\d[\d.]*(?:\s*(?:%|°C|[µa-zA-ZΩ]+(?:\/[a-zµ²]+)?))?(?![\w]))/)) {
    found.push([/^[-+]?\d/.test(part) ? "amount" : "", part]);
  }
  if (remark >= 0) found.push(["remark", line.slice(remark)]);
  return found;
}

let painted = [];

function draw() {
  const lines = field.value.split("\n");
  const at = new Map();
  for (const mark of marks) {
    if (mark.line) at.set(mark.line, [...(at.get(mark.line) || []), mark]);
  }
  while (paint.children.length > lines.length) {
    paint.lastChild.remove();
    gutter.lastChild.remove();
  }
  lines.forEach((line, k) => {
    const own = at.get(k + 1) || [];
    const state = `${line}\n${own.map((mark) => mark.number + mark.weight).join()}`;
    if (paint.children[k] && painted[k] === state) return;
    painted[k] = state;
    const row = made("p", "", { class: own.length ? `at-${own[0].weight}` : "" });
    for (const [kind, words] of pieces(line)) if (words) row.append(kind ? made("span", words, { class: kind }) : words);
    const number = made("p", "", { class: own.length ? "mark-at" : "" });
    number.append(
      made("span", own.length ? own.map((mark) => `${SIGNS[mark.weight]}${mark.number}`).slice(0, 2).join(" ") : ""),
      made("span", String(k + 1)),
    );
    if (own.length) number.dataset.finding = own[0].number;
    if (paint.children[k]) {
      paint.children[k].replaceWith(row);
      gutter.children[k].replaceWith(number);
    } else {
      paint.append(row);
      gutter.append(number);
    }
  });
  painted.length = lines.length;
  follow();
}

function follow() {
  gutter.style.transform = `translateY(${-field.scrollTop}px)`;
  paint.style.transform = `translate(${-field.scrollLeft}px, ${-field.scrollTop}px)`;
}

// Where the cursor is

function place() {
  const before = field.value.slice(0, field.selectionStart);
  const line = before.split("\n").length;
  return { line, column: before.length - (before.lastIndexOf("\n") + 1) + 1 };
}

function toLine(line) {
  const lines = field.value.split("\n");
  const start = lines.slice(0, line - 1).reduce((sum, each) => sum + each.length + 1, 0);
  field.focus();
  field.setSelectionRange(start, start + (lines[line - 1] || "").length);
  const height = parseFloat(getComputedStyle(field).lineHeight);
  field.scrollTop = Math.max(0, (line - 1) * height - field.clientHeight / 3);
  frame.scrollIntoView({ block: "nearest" });
}

function insert(words, from, to) {
  field.focus();
  field.setSelectionRange(from, to);
  // Typed as by a person, so that undo takes it back; a browser that cannot is served by the plain way.
  if (!document.execCommand("insertText", false, words)) {
    field.setRangeText(words, from, to, "end");
    field.dispatchEvent(new Event("input", { bubbles: true }));
  }
}

// Offers

const list = $("offers");
let offered = null;
let active = -1;
let offering = null;

function close() {
  offering?.abort();
  offered = null;
  active = -1;
  if (list.hidden) return;
  list.hidden = true;
  field.removeAttribute("aria-activedescendant");
}

async function offer(asked) {
  offering?.abort();
  offering = new AbortController();
  const at = place();
  let told;
  try {
    told = await ask("complete", at, offering.signal);
  } catch {
    return;
  }
  const now = place();
  if (now.line !== at.line || now.column !== at.column) return;
  if (!told.offers.length) {
    close();
    if (asked) say("Anything may stand here.");
    return;
  }
  offered = told;
  active = -1;
  list.replaceChildren(
    ...told.offers.map((each, k) => {
      const row = made("li", "", { id: `offer-${k}`, role: "option", "aria-selected": "false" });
      row.append(made("b", each.text.trim()), made("span", each.gloss));
      return row;
    }),
  );
  field.removeAttribute("aria-activedescendant");
  list.hidden = false;
  list.scrollTop = 0;
  spot(at);
  if (asked) choose(0);
  say(`${told.offers.length} ${told.offers.length === 1 ? "offer" : "offers"}${told.of ? `: ${told.of}` : ""}.`);
}

function spot(at) {
  const style = getComputedStyle(field);
  const height = parseFloat(style.lineHeight);
  const measure = made("span", "0000000000", { class: "measure" });
  paint.append(measure);
  const wide = measure.getBoundingClientRect().width / 10;
  measure.remove();
  const below = at.line * height - field.scrollTop;
  const room = field.clientHeight - below;
  const left = gutter.parentElement.offsetWidth + parseFloat(style.paddingLeft) + (at.column - 1) * wide - field.scrollLeft;
  list.style.left = `${Math.max(0, Math.min(left, frame.clientWidth - list.offsetWidth))}px`;
  list.style.top = room < list.offsetHeight && below > list.offsetHeight + height ? `${below - height - list.offsetHeight}px` : `${below}px`;
}

function choose(number) {
  const rows = [...list.children];
  active = (number + rows.length) % rows.length;
  rows.forEach((row, k) => row.setAttribute("aria-selected", String(k === active)));
  rows[active].scrollIntoView({ block: "nearest" });
  field.setAttribute("aria-activedescendant", rows[active].id);
}

function take(number) {
  const { line, start, end, offers } = offered;
  const head = field.value.split("\n").slice(0, line - 1).reduce((sum, each) => sum + each.length + 1, 0);
  const words = offers[number].text;
  close();
  insert(words, head + start - 1, head + end - 1);
  if (words.endsWith(": ") || words === "- ") offer(false);
}

function say(words) {
  $("status").textContent = words;
}

// The review

let asking = null;
let waits = [];
let answer = null;
let sent = "";

function later(milliseconds, what) {
  waits.push(setTimeout(what, milliseconds));
}

function review() {
  for (const each of waits) clearTimeout(each);
  waits = [];
  asking?.abort();
  asking = new AbortController();
  const { signal } = asking;
  later(140, async () => {
    const read = await stage("read", signal);
    if (!read?.readable) return;
    later(160, async () => {
      await stage("rules", signal);
      later(500, () => stage("whole", signal));
    });
  });
}

async function stage(name, signal) {
  try {
    if (name !== "read") frame.dataset.working = name;
    const told = await ask("live", { stage: name, writer: frame.dataset.writer }, signal);
    if (signal.aborted || told.overtaken) return null;
    show(told);
    return told;
  } catch (trouble) {
    if (trouble.name !== "AbortError") say(`Not reviewed: ${trouble.message}. Your text is here as you typed it.`);
    return null;
  } finally {
    delete frame.dataset.working;
  }
}

function show(told) {
  // Once the text can be read again, what the rules said of it before stands until they are asked anew.
  const quick = told.stage === "read" && told.readable;
  const kept = quick ? marks.filter((mark) => mark.weight !== "error") : told.marks;
  if (!quick || kept.length !== marks.length) {
    marks = kept;
    findings();
  }
  draw();
  if (told.steps.length) {
    const step = answer?.steps[chosen()]?.number;
    answer = told.stage === "whole" || !answer ? told : { ...told, steps: told.steps.map((each, k) => ({ ...each, ...pictures(answer.steps[k], each) })) };
    steps(step);
    day();
  }
  const counts = told.counts;
  if (!told.readable) say(`${counts.error} cannot be read.`);
  else if (told.stage !== "read") {
    say(`${counts.stop} stop, ${counts.warn} warn, ${counts.note} note.${told.stage === "rules" ? " Sections are being drawn." : ""}`);
  }
}

function pictures(before, now) {
  return before && before.number === now.number ? { section: before.section, plan: before.plan, view: before.view } : {};
}

function findings() {
  $("findings").replaceChildren(
    ...marks.map((mark) => {
      const row = made("li", "", { class: "finding", id: `finding-${mark.number}` });
      const head = made("p", "", { class: "finding-head" });
      const weight = made("span", "", { class: `weight weight-${mark.weight}` });
      weight.append(made("span", SIGNS[mark.weight], { "aria-hidden": "true" }), ` ${mark.number} ${WORDS[mark.weight]}`);
      head.append(weight);
      if (mark.line) head.append(made("a", `line ${mark.line}`, { class: "to-line", href: `#line-${mark.line}`, "data-line": mark.line }));
      else head.append(made("span", mark.file || "the whole plan", { class: "quiet" }));
      row.append(head, made("p", `${mark.said}.`), made("p", `${mark.why[0].toUpperCase()}${mark.why.slice(1)}.`, { class: "quiet" }));
      const remedy = made("p");
      remedy.append(made("b", "Do:"), ` ${mark.remedy}${mark.remedy.endsWith("?") ? "" : "."}`);
      row.append(remedy);
      for (const [word, words] of [["Accepted:", mark.accepted], ["Not accepted:", mark.refused]]) {
        if (!words) continue;
        const line = made("p");
        line.append(made("b", word), ` ${words}`);
        row.append(line);
      }
      if (mark.source) row.append(made("p", `Limit: ${mark.source}`, { class: "quiet small" }));
      return row;
    }),
  );
  $("no-findings").hidden = marks.length > 0;
  $("no-findings").textContent = "Nothing found.";
  $("tab-findings").textContent = marks.length ? `Findings ${marks.length}` : "Findings";
}

// Steps: section, from above, settings

const slider = $("which");
const chosen = () => Number(slider.value) - 1;

function steps(number) {
  slider.max = String(answer.steps.length);
  const same = answer.steps.findIndex((each) => each.number === number);
  if (same >= 0) slider.value = String(same + 1);
  step();
}

function figure(id, address, words, caption) {
  const image = $(id).querySelector("img");
  image.hidden = !address;
  if (address && image.getAttribute("src") !== address) image.src = address;
  image.alt = words;
  if (caption !== undefined) $(id).querySelector("figcaption").textContent = caption;
}

function step() {
  const now = answer?.steps[chosen()];
  if (!now) return;
  const name = `${now.code} ${now.title}`;
  $("which-step").textContent = `${name} · line ${now.line}`;
  slider.setAttribute("aria-valuetext", name);
  const drawn = answer.steps.some((each) => each.section);
  figure("section-now", now.section, `Section after ${now.number} ${now.title}`, drawn ? now.changed : "Being drawn.");
  figure("plan-now", now.plan, `The die from above after ${now.number}, by materials`);
  figure("view-now", now.view, `The die through the microscope after ${now.number}`);
  $("look-now").replaceChildren(...now.look.map((words) => made("li", words)));
  const table = made("table", "", { class: "table" });
  const head = made("tr");
  head.append(...["dial in", "value", "band", "rests on"].map((word) => made("th", word, { scope: "col" })));
  const thead = made("thead");
  thead.append(head);
  const body = made("tbody");
  for (const each of now.settings) {
    const row = made("tr");
    row.append(made("th", each.name, { scope: "row" }), made("td", each.value), made("td", each.band), made("td", each.rests_on));
    body.append(row);
  }
  table.append(thead, body);
  $("settings-now").replaceChildren(
    made("p", [now.tool, now.duration].filter(Boolean).join(" · ")),
    now.settings.length ? table : made("p", "Nothing to dial in."),
    ...now.cautions.map((words) => made("p", words, { class: "caution" })),
    ...now.warnings.map((words) => made("p", words, { class: "quiet" })),
  );
}

function day() {
  $("day").querySelector("tbody").replaceChildren(
    ...answer.day.map((each) => {
      const row = made("tr");
      const latest = made("td", each.latest);
      if (each.because) latest.append(made("br"), made("span", each.because, { class: "quiet small" }));
      row.append(made("th", `${each.code} ${each.title}`, { scope: "row" }), made("td", each.begin), made("td", each.end), latest);
      return row;
    }),
  );
  $("day-notes").textContent = answer.day_notes.join(" ");
}

function stepAtCursor() {
  if (!answer) return;
  const { line } = place();
  let at = -1;
  answer.steps.forEach((each, k) => {
    if (each.line <= line && (at < 0 || each.line > answer.steps[at].line)) at = k;
  });
  if (at >= 0 && answer.steps[at].line !== answer.steps[chosen()]?.line) {
    slider.value = String(at + 1);
    step();
  }
}

// Tabs

function tabs() {
  const bar = document.querySelector("[data-tabs]");
  const all = [...bar.querySelectorAll("[role=tab]")];
  const pane = (tab) => $(tab.getAttribute("aria-controls"));
  function select(tab, focus) {
    for (const each of all) {
      const own = each === tab;
      each.setAttribute("aria-selected", String(own));
      each.tabIndex = own ? 0 : -1;
      pane(each).hidden = !own;
      pane(each).setAttribute("role", "tabpanel");
    }
    $("stepper").hidden = !["tab-section", "tab-above", "tab-settings"].includes(tab.id);
    if (focus) tab.focus();
  }
  bar.addEventListener("click", (event) => {
    const tab = event.target.closest("[role=tab]");
    if (tab) select(tab, false);
  });
  bar.addEventListener("keydown", (event) => {
    const by = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    const at = all.indexOf(event.target);
    if (!by || at < 0) return;
    event.preventDefault();
    select(all[(at + by + all.length) % all.length], true);
  });
  bar.hidden = false;
  bar.parentElement.dataset.tabbed = "yes";
  select(all[0], false);
  return (id) => select($(id), false);
}

function start() {
  frame.dataset.ready = "yes";
  frame.querySelector(".gutter").append(gutter);
  for (const each of document.querySelectorAll("[data-scripted]")) each.hidden = false;
  const open = tabs();
  sent = field.value;
  field.setAttribute("aria-autocomplete", "list");
  field.setAttribute("aria-controls", "offers");

  let typing = 0;
  field.addEventListener("input", (event) => {
    draw();
    review();
    clearTimeout(typing);
    const word = event.inputType === "insertText" && event.data && !/[\n]/.test(event.data);
    if (word) typing = setTimeout(() => offer(false), 90);
    else close();
  });
  field.addEventListener("scroll", () => {
    follow();
    close();
  });
  field.addEventListener("keydown", (event) => {
    if (event.key === " " && (event.ctrlKey || event.metaKey)) {
      event.preventDefault();
      offer(true);
    } else if (!list.hidden && (event.key === "ArrowDown" || event.key === "ArrowUp")) {
      event.preventDefault();
      choose(active < 0 && event.key === "ArrowUp" ? list.children.length - 1 : active + (event.key === "ArrowDown" ? 1 : -1));
    } else if (!list.hidden && event.key === "Enter" && active >= 0) {
      event.preventDefault();
      take(active);
    } else if (!list.hidden && event.key === "Escape") {
      event.preventDefault();
      close();
    } else if (event.key === "Enter" && !event.isComposing && !event.shiftKey) {
      // A new line begins where the last one did; behind a step's first key, below that key.
      const before = field.value.slice(field.value.lastIndexOf("\n", field.selectionStart - 1) + 1, field.selectionStart);
      const indent = before.match(/^ *(?:- +)?/)[0].replace(/-/g, " ");
      if (!indent) return;
      event.preventDefault();
      insert(`\n${indent}`, field.selectionStart, field.selectionEnd);
    }
  });
  field.addEventListener("blur", () => setTimeout(() => document.activeElement !== field && close(), 200));
  document.addEventListener("selectionchange", () => {
    if (document.activeElement === field) stepAtCursor();
  });
  list.addEventListener("pointerdown", (event) => event.preventDefault());
  list.addEventListener("click", (event) => {
    const row = event.target.closest("li");
    if (row) take([...list.children].indexOf(row));
  });
  document.querySelector("[data-offer]").addEventListener("click", () => {
    field.focus();
    offer(true);
  });
  $("findings").addEventListener("click", (event) => {
    const link = event.target.closest("[data-line]");
    if (!link) return;
    event.preventDefault();
    toLine(Number(link.dataset.line));
  });
  gutter.addEventListener("click", (event) => {
    const at = event.target.closest("[data-finding]");
    if (!at) return;
    open("tab-findings");
    for (const each of document.querySelectorAll(".finding.now")) each.classList.remove("now");
    const found = $(`finding-${at.dataset.finding}`);
    found?.classList.add("now");
    found?.scrollIntoView({ block: "nearest" });
  });
  slider.addEventListener("input", step);
  for (const button of document.querySelectorAll("[data-step]")) {
    button.addEventListener("click", () => {
      slider.value = String(Number(slider.value) + Number(button.dataset.step));
      step();
    });
  }
  let leaving = false;
  field.form.addEventListener("submit", () => {
    leaving = true;
  });
  window.addEventListener("beforeunload", (event) => {
    if (!leaving && field.value !== sent) event.preventDefault();
  });
  draw();
  review();
}

if (field) start();
