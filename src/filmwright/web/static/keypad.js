// Large keys under a number field. The field stays an ordinary field: keys write into it at its caret, a keyboard still works.
const rows = [["7", "8", "9", "erase"], ["4", "5", "6", "-"], ["1", "2", "3", "e"], ["0", ".", "clear"]];
const said = { erase: "Take back the last digit", "-": "Minus", ".": "Point", e: "Times ten to the power of", clear: "Clear" };
const shownAs = { "-": "−", e: "×10ⁿ", clear: "clear" };

function erase(field) {
  field.value = field.value.slice(0, -1);
}

function press(field, key) {
  if (key === "erase") erase(field);
  else if (key === "clear") field.value = "";
  else if (field.value.length < 24) field.value += key;
  field.dispatchEvent(new Event("input", { bubbles: true }));
}

function icon(name) {
  const space = "http://www.w3.org/2000/svg";
  const svg = document.createElementNS(space, "svg");
  svg.setAttribute("class", "mark");
  svg.setAttribute("aria-hidden", "true");
  const use = document.createElementNS(space, "use");
  use.setAttribute("href", `#s-${name}`);
  svg.append(use);
  return svg;
}

function keys(field) {
  const pad = document.createElement("div");
  pad.className = "keys";
  pad.setAttribute("role", "group");
  const label = document.querySelector(`label[for="${CSS.escape(field.id)}"]`);
  pad.setAttribute("aria-label", `Keys for ${label ? label.textContent.trim() : "the number"}`);
  for (const row of rows) {
    for (const key of row) {
      const button = document.createElement("button");
      button.type = "button";
      if (key === "erase") button.append(icon("erase"));
      else button.textContent = shownAs[key] || key;
      if (said[key]) button.setAttribute("aria-label", said[key]);
      if (key === "clear") button.className = "wide worded";
      if (key === "e") button.className = "worded";
      button.addEventListener("click", () => press(field, key));
      pad.append(button);
    }
  }
  return pad;
}

/** Give every number field below a place its keys. */
export function dress(place = document) {
  for (const box of place.querySelectorAll("[data-keypad]:not([data-dressed])")) {
    const field = box.querySelector("input");
    box.dataset.dressed = "yes";
    // The large keys take the place of the tablet's own keyboard, which would hide half of the page.
    field.setAttribute("inputmode", "none");
    field.after(keys(field));
  }
}

dress();
