// Measured files are sent one after the other, so that many of them show how far they are and can be stopped; without this script the
// form sends them all at once.
import { token } from "./page.js";

const form = document.getElementById("files-form");
const field = document.getElementById("files");
const sent = document.getElementById("sent");
let stopped = null;

async function sendAll(files) {
  stopped = new AbortController();
  const bar = document.getElementById("progress");
  document.getElementById("sending").hidden = false;
  bar.max = files.length;
  let tray = "";
  let taken = 0;
  for (const [k, file] of files.entries()) {
    if (stopped.signal.aborted) break;
    sent.textContent = `${k} of ${files.length} sent; now ${file.name}`;
    const content = new FormData();
    content.set("json", "1");
    if (tray) content.set("tray", tray);
    content.append("files", file, file.name);
    try {
      const answer = await fetch(form.action, {
        method: "POST",
        body: content,
        headers: { accept: "application/json", "x-form-token": token },
        signal: stopped.signal,
      });
      const told = await answer.json();
      if (!answer.ok) throw new Error(told.problems?.[0]?.got || told.said);
      tray = told.tray;
      taken = told.files;
    } catch (trouble) {
      if (trouble.name === "AbortError") break;
      sent.textContent = `${file.name} was not sent: ${trouble.message}`;
      return;
    }
    bar.value = k + 1;
  }
  if (tray) location.assign(`${form.action.replace(/files$/, "tray/")}${tray}`);
  else sent.textContent = taken ? "" : "Stopped; nothing was sent.";
}

if (form) {
  form.addEventListener("submit", (event) => {
    if (!field.files.length) return;
    event.preventDefault();
    delete form.dataset.sent;
    sendAll([...field.files].slice(0, Number(form.dataset.most)));
  });
  document.getElementById("stop").addEventListener("click", () => stopped?.abort());
  const place = form.querySelector(".drop");
  for (const name of ["dragover", "drop"]) {
    place.addEventListener(name, (event) => {
      event.preventDefault();
      if (name === "drop" && event.dataTransfer.files.length) {
        field.files = event.dataTransfer.files;
        form.requestSubmit();
      }
    });
  }
}
