// Large keys under the PIN. Without script the field is filled in as any other.
const field = document.getElementById("pin");
const keys = document.getElementById("pin-keys");
if (field && keys) {
  const press = (word, label, act) => {
    const key = document.createElement("button");
    key.type = "button";
    key.textContent = word;
    key.setAttribute("aria-label", label);
    key.addEventListener("click", act);
    keys.append(key);
  };
  const digit = (d) => press(d, d, () => { if (field.value.length < 6) field.value += d; });
  "123456789".split("").forEach(digit);
  press("⌫", "Take the last digit back", () => { field.value = field.value.slice(0, -1); });
  digit("0");
  press("✕", "Clear", () => { field.value = ""; });
  keys.hidden = false;
}
