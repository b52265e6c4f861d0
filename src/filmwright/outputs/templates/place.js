(() => {
  const die = document.getElementById("die");
  if (!die) { story.begin(); return; }
  const by = (id) => document.getElementById(id);
  const views = [...die.querySelectorAll("g[data-left], .seen g[clip-path]")];
  const frame = die.querySelector("g[data-left]").dataset;
  const [left, top, px, x0, y1] = [frame.left, frame.top, frame.px, frame.x0, frame.y1].map(Number);
  const ruler = document.createElement("canvas").getContext("2d");
  const name = "http://www.w3.org/2000/svg";
  let zoom = 1, shift = [0, 0], spot = null;

  // What is drawn in a frame moves in a group of its own; letters and hatches keep their size.
  for (const view of views) {
    const inside = document.createElementNS(name, "g");
    inside.setAttribute("class", "inside");
    inside.append(...view.childNodes);
    view.append(inside);
    view.inside = inside;
    const svg = view.closest("svg");
    svg.setAttribute("role", "group"); // a picture hides its parts from those who listen
    svg.hatches = [...svg.querySelectorAll("pattern")].map((node) => [node, node.getAttribute("patternTransform") || ""]);
  }
  for (const node of die.querySelectorAll("[data-column]")) {
    node.setAttribute("tabindex", "0");
    node.setAttribute("role", "button");
  }

  const visible = () => views.find((view) => view.getClientRects().length && view.closest(".shown")) || views[0];
  const toNm = ([x, y]) => [x0 + (x - left) / px, y1 - (y - top) / px];
  const toPx = ([x, y]) => [left + (x - x0) * px, top + (y1 - y) * px];

  function draw() {
    const view = visible(), svg = view.closest("svg");
    view.inside.setAttribute("transform", `translate(${shift[0]} ${shift[1]}) scale(${zoom})`);
    for (const [node, base] of svg.hatches) node.setAttribute("patternTransform", `${base} scale(${1 / zoom})`);
    for (const mark of view.inside.querySelectorAll("[data-x]")) {
      const { x, y } = mark.dataset;
      mark.setAttribute("transform", `translate(${x} ${y}) scale(${1 / zoom}) translate(${-x} ${-y})`);
    }
    const bar = svg.querySelector("[data-bar]");
    if (bar) {
      bar.full = bar.full || { end: Number(bar.dataset.px), nm: Number(bar.dataset.nm) };
      const round = [5, 2, 1].map((m) => m * 10 ** Math.floor(Math.log10(bar.full.nm / zoom))).find((nm) => nm * zoom <= bar.full.nm * 1.0001);
      const [line, text] = [bar.querySelector("line"), bar.querySelector("text")];
      const end = Number(line.getAttribute("x1")) + round * px * zoom;
      line.setAttribute("x2", end);
      text.setAttribute("x", end + 8);
      text.textContent = round >= 1000 ? `${+(round / 1000).toPrecision(3)} µm` : `${+round.toPrecision(3)} nm`;
    }
    die.classList.toggle("near", zoom > 1);
    view.inside.querySelector(".spot")?.remove();
    if (!spot) return;
    const [x, y] = toPx(spot), pin = document.createElementNS(name, "g");
    pin.setAttribute("class", "spot");
    pin.innerHTML = `<circle cx="${x}" cy="${y}" r="${7 / zoom}" fill="none" stroke="#fff" stroke-width="5"/><circle cx="${x}" cy="${y}" r="${7 / zoom}" fill="none" stroke="#0b5fff" stroke-width="2.5"/>`;
    view.inside.append(pin);
  }

  function look(factor, [x, y]) {
    const before = zoom;
    zoom = Math.max(1, Math.min(200, zoom * factor));
    const high = 316, clamp = (s, edge, k) => Math.min(edge * (1 - zoom), Math.max((edge + high) * (1 - zoom), k));
    shift = [x - (x - shift[0]) * zoom / before, y - (y - shift[1]) * zoom / before];
    shift = [clamp(0, left, shift[0]), clamp(0, top, shift[1])];
    draw();
  }

  function inPicture(event) {
    const view = visible(), point = new DOMPoint(event.clientX, event.clientY).matrixTransform(view.getScreenCTM().inverse());
    return [point.x, point.y];
  }

  // The column at a place, in the picture of any step.
  const plans = [...die.querySelectorAll(".materials .s")].map((node) => ({
    steps: node.dataset.step.split(" ").map(Number),
    shapes: [...node.querySelectorAll("[data-column]")].reverse().map((shape) => [new Path2D(shape.getAttribute("d")), shape.dataset.column]),
  }));
  function columnAt(nm, step) {
    const plan = plans.find((each) => each.steps.includes(step)), [x, y] = toPx(nm);
    const hit = plan && plan.shapes.find(([path]) => ruler.isPointInPath(path, x, y, "evenodd"));
    return hit ? hit[1] : "";
  }

  function differences(was, is) {
    const old = new Map(was.map((row) => [row[0], row])), words = [];
    for (const [film, sign, thickness, nm, , ...marks] of is) {
      const before = old.get(film);
      if (!before) words.push(`+ ${sign} ${thickness}`);
      else {
        if (Math.abs(before[3] - nm) > 0.05) words.push(`${sign} ${before[2]} → ${thickness}`);
        for (const mark of marks) if (!before.includes(mark, 5)) words.push(`${sign}: ${mark}`);
      }
      old.delete(film);
    }
    for (const [, sign, thickness] of old.values()) words.push(`− ${sign} ${thickness}, gone`);
    return words.join("; ");
  }

  function cell(row, text, kind) {
    const node = row.insertCell();
    node.textContent = text;
    if (kind) node.className = kind;
  }

  function tell(step) {
    const { facts } = story, key = spot && columnAt(spot, step);
    by("place").hidden = !key;
    if (!key) return;
    by("where-at").textContent = `x ${(spot[0] / 1000).toFixed(2)} µm, y ${(spot[1] / 1000).toFixed(2)} µm, after ${story.name(step)}`;
    by("column").replaceChildren(document.getElementById(key).content.cloneNode(true));
    const column = facts.columns[key];
    by("colour").hidden = !column.name;
    by("swatch").style.background = column.colour;
    by("colour-name").textContent = `looks ${column.name} under the microscope (${column.colour})`;
    by("layers").replaceChildren();
    for (const [, sign, thickness, , born, ...marks] of [...column.layers].reverse()) {
      const row = by("layers").insertRow();
      cell(row, sign); cell(row, thickness || "the wafer", "n"); cell(row, born); cell(row, marks.join(", "));
    }
    by("history").replaceChildren();
    let last = null;
    for (let k = 0; k < facts.steps.length; k++) {
      const layers = facts.columns[columnAt(spot, k)]?.layers;
      if (k === 0 && layers) {
        last = layers.filter((row) => row[4] === "as bought");
        const bought = document.createElement("li");
        bought.textContent = `as bought: ${[...last].reverse().map((row) => `${row[1]} ${row[2]}`.trim()).join(" on ")}`;
        by("history").append(bought);
      }
      const words = last && layers && layers !== last ? differences(last, layers) : "";
      last = layers || last;
      if (!words) continue;
      const item = document.createElement("li"), button = document.createElement("button");
      button.type = "button";
      button.textContent = `${story.name(k)}: ${words}`;
      if (k > step) button.className = "later";
      if (k === step) button.setAttribute("aria-current", "step");
      button.addEventListener("click", () => story.show(k));
      item.append(button);
      by("history").append(item);
    }
  }

  function choose(nm) { story.at(nm ? nm.map((each) => (each / 1000).toFixed(3)).join(",") : ""); }

  // One finger or the mouse moves what is near, two fingers look closer; a tap chooses a place.
  const down = new Map();
  let began = null;
  die.addEventListener("pointerdown", (event) => { down.set(event.pointerId, event); began = event; });
  die.addEventListener("pointermove", (event) => {
    const last = down.get(event.pointerId);
    if (!last) return;
    const [x, y] = inPicture(event), [u, v] = inPicture(last);
    if (down.size === 2) {
      const other = [...down.values()].find((each) => each.pointerId !== event.pointerId);
      const gap = (a) => Math.hypot(a.clientX - other.clientX, a.clientY - other.clientY);
      look(gap(event) / Math.max(gap(last), 1), inPicture(other));
      began = null;
    } else if (zoom > 1) {
      shift = [shift[0] + x - u, shift[1] + y - v];
      look(1, [x, y]);
    }
    down.set(event.pointerId, event);
  });
  const lift = (event) => {
    const tapped = began && Math.hypot(event.clientX - began.clientX, event.clientY - began.clientY) < 6;
    down.delete(event.pointerId);
    if (event.type !== "pointerup" || !tapped) return;
    const [x, y] = inPicture(event), at = [(x - shift[0]) / zoom, (y - shift[1]) / zoom];
    if (x >= left && x <= left + 316 && y >= top && columnAt(toNm(at), story.now())) choose(toNm(at));
  };
  for (const kind of ["pointerup", "pointercancel", "pointerleave"]) die.addEventListener(kind, lift);
  die.addEventListener("wheel", (event) => {
    if (!event.ctrlKey && zoom === 1 && event.deltaY > 0) return;
    event.preventDefault();
    look(Math.exp(-event.deltaY / 300), inPicture(event));
  }, { passive: false });
  die.addEventListener("keydown", (event) => {
    const shape = event.target.closest("[data-column]");
    if (!shape || (event.key !== "Enter" && event.key !== " ")) return;
    event.preventDefault();
    const inside = pointInside(shape);
    if (inside) choose(toNm(inside));
  });

  // A point of a shape that is surely inside: the middle of the longest run along its best scan line.
  function pointInside(shape) {
    const box = shape.getBBox(), path = new Path2D(shape.getAttribute("d"));
    let best = [0, null];
    for (let j = 1; j < 16; j++) {
      const y = box.y + box.height * j / 16;
      for (let i = 0, run = 0; i <= 64; i++) {
        const x = box.x + box.width * (i + 0.5) / 65;
        run = ruler.isPointInPath(path, x, y, "evenodd") ? run + 1 : 0;
        if (run > best[0]) best = [run, [x - box.width * (run - 1) / 130, y]];
      }
    }
    return best[1];
  }

  document.addEventListener("keydown", (event) => { if (event.key === "Escape" && spot) choose(null); });

  function turn(seen) {
    die.querySelector(".materials").classList.toggle("shown", !seen);
    die.querySelector(".seen")?.classList.toggle("shown", seen);
    by("as-materials")?.setAttribute("aria-pressed", String(!seen));
    by("as-seen")?.setAttribute("aria-pressed", String(seen));
    draw();
  }
  const middle = [left + 158, top + 158];
  by("as-materials")?.addEventListener("click", () => turn(false));
  by("as-seen")?.addEventListener("click", () => turn(true));
  by("closer").addEventListener("click", () => look(1.6, spot ? toPx(spot).map((each, k) => each * zoom + shift[k]) : middle));
  by("farther").addEventListener("click", () => look(1 / 1.6, middle));
  by("whole").addEventListener("click", () => { zoom = 1; shift = [0, 0]; draw(); });
  by("leave").addEventListener("click", () => choose(null));
  story.listen((step, place) => {
    const nm = place.split(",").map((each) => 1000 * Number(each));
    spot = nm.length === 2 && nm.every(Number.isFinite) ? nm : null;
    draw();
    tell(step);
  });
  turn(false);
  story.begin();
})();
