/* Live figures: hover, zoom, curves that can be switched off, arrow keys. Without this the vector pictures stay. */
(async () => {
  "use strict";
  const { look, config, dark, ink } = JSON.parse(document.getElementById("figure-look").textContent);
  const packed = document.getElementById("figure-library");
  if (!packed || typeof DecompressionStream === "undefined") return;
  const night = matchMedia("(prefers-color-scheme: dark)");
  const css = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

  const load = async () => {
    const bytes = Uint8Array.from(atob(packed.textContent), (c) => c.charCodeAt(0));
    const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
    const script = document.createElement("script");
    script.textContent = await new Response(stream).text();
    document.head.append(script);
    packed.remove();
    script.remove();
  };

  /* Colours of the paper become those of the page; a colour may carry its opacity as two more digits. */
  const coloured = (value) => {
    if (typeof value === "string" && /^#[0-9a-f]{6}([0-9a-f]{2})?$/.test(value)) {
      const base = value.slice(0, 7), rest = value.slice(7);
      if (base === "#ffffff" && rest) return (css("--card") || base) + rest;
      if (base === ink) return (night.matches ? "#e9e6de" : ink) + rest;
      return (night.matches && dark[base] ? dark[base] : base) + rest;
    }
    if (Array.isArray(value)) return typeof value[0] === "number" ? value : value.map(coloured);
    if (value && typeof value === "object")
      return Object.fromEntries(Object.entries(value).map(([key, each]) => [key, coloured(each)]));
    return value;
  };

  const glyphs = { circle: "●", square: "■", diamond: "◆", "triangle-up": "▲", cross: "✚", "x-thin-open": "✕", "x-thin": "✕", "circle-open": "○" };

  /* The sample of a curve beside its name: line, dash and mark, so that no name rests on colour alone. */
  const sample = (trace) => {
    const line = trace.line || {}, mark = trace.marker || {};
    const colour = line.color || (typeof mark.color === "string" ? mark.color : css("--ink"));
    const gaps = line.dash && line.dash !== "solid" ? ` stroke-dasharray="${line.dash.replace(/px/g, "")}"` : "";
    const drawn = (trace.mode || "lines").includes("lines") ? `<line x1="0" y1="7" x2="30" y2="7" stroke="${colour}" stroke-width="2"${gaps}/>` : "";
    const glyph = glyphs[mark.symbol] ? `<text x="15" y="12" font-size="13" text-anchor="middle" fill="${colour}">${glyphs[mark.symbol]}</text>` : "";
    return `<svg width="30" height="14" aria-hidden="true">${drawn}${glyph}</svg>`;
  };

  const button = (text, kind) => {
    const made = document.createElement("button");
    made.type = "button";
    if (kind) made.className = kind;
    made.append(text);
    return made;
  };

  const plain = (text) => { const box = document.createElement("div"); box.innerHTML = text; return box.textContent; };

  /* The numbers that are drawn, as a table for spreadsheets; a text that begins like a formula is made text. */
  const table = (figure) => {
    const cell = (value) => {
      if (typeof value === "number") return String(value);
      const text = value == null ? "" : plain(String(value));
      return `"${(/^[=+\-@\t\r]/.test(text) ? "'" : "") + text.replace(/"/g, '""')}"`;
    };
    const axes = figure.layout, rows = [["curve", axes.xaxis.title.text, axes.yaxis.title.text].map(cell).join(",")];
    for (const trace of figure.data) {
      if (trace.hoverinfo === "skip" || !trace.x || !trace.y) continue;
      trace.x.forEach((x, k) => rows.push([trace.name, x, trace.y[k]].map(cell).join(",")));
    }
    return rows.join("\r\n") + "\r\n";
  };

  const names = (panel, live, figure) => {
    const bar = panel.querySelector(".names");
    bar.replaceChildren();
    figure.data.forEach((trace, at) => {
      if (!trace.name || trace.showlegend === false) return;
      const made = button("", "");
      made.innerHTML = sample(trace);
      made.append(plain(trace.name));
      made.setAttribute("aria-pressed", "true");
      made.addEventListener("click", () => {
        const on = made.getAttribute("aria-pressed") !== "true";
        made.setAttribute("aria-pressed", String(on));
        const along = figure.data.map((each, k) => [each, k]).filter(([each]) => {
          const of = each.meta || {};
          return [of.band, of.foot, of.tangent].includes(trace.name);
        }).map(([, k]) => k);
        Plotly.restyle(live, { visible: on }, [at, ...along.filter((k) => k !== at)]);
      });
      bar.append(made);
    });
    const whole = button("Whole view", "whole");
    whole.addEventListener("click", () => Plotly.relayout(live, { "xaxis.autorange": !figure.layout.xaxis.range, "yaxis.autorange": !figure.layout.yaxis.range, ...(figure.layout.xaxis.range ? { "xaxis.range": figure.layout.xaxis.range } : {}), ...(figure.layout.yaxis.range ? { "yaxis.range": figure.layout.yaxis.range } : {}) }));
    const numbers = button("Numbers", "table");
    numbers.title = "Save what is drawn as a table";
    numbers.addEventListener("click", () => {
      const link = document.createElement("a");
      link.href = URL.createObjectURL(new Blob(["\ufeff" + table(figure)], { type: "text/csv" }));
      link.download = `${(figure.layout.meta.title || "figure").replace(/[^\w-]+/g, "-")}.csv`;
      link.click();
      setTimeout(() => URL.revokeObjectURL(link.href), 1000);
    });
    const does = panel.querySelector(".does");
    does.replaceChildren(whole, numbers);
    bar.hidden = !bar.children.length;
    does.hidden = false;
  };

  /* Left and right go along a curve, up and down from curve to curve; what is reached is said aloud. */
  const keys = (panel, live, figure) => {
    let at = 0, point = -1;
    const curves = figure.data.map((trace, k) => k).filter((k) => figure.data[k].hoverinfo !== "skip" && (figure.data[k].x || []).length);
    const said = panel.querySelector(".said");
    live.addEventListener("keydown", (event) => {
      const step = { ArrowRight: 1, ArrowLeft: -1, PageDown: 10, PageUp: -10 }[event.key];
      const turn = { ArrowDown: 1, ArrowUp: -1 }[event.key];
      if (event.key === "Escape") { Plotly.Fx.unhover(live); point = -1; return; }
      if (!curves.length || (step === undefined && turn === undefined)) return;
      event.preventDefault();
      if (turn) at = (at + turn + curves.length) % curves.length;
      const trace = figure.data[curves[at]], last = trace.x.length - 1;
      point = Math.max(0, Math.min(last, point + (step || 0)));
      Plotly.Fx.hover(live, [{ curveNumber: curves[at], pointNumber: point }]);
      const unit = (axis) => axis.title.text || "";
      said.textContent = `${plain(trace.name || "")}: ${unit(figure.layout.xaxis)} ${trace.x[point]}, ${unit(figure.layout.yaxis)} ${trace.y ? trace.y[point] : ""}`;
    });
  };

  const draw = async (panel) => {
    const live = panel.querySelector(".live"), rest = panel.querySelector(".rest");
    const figure = coloured(JSON.parse(panel.querySelector(".figure").textContent));
    figure.layout.template = coloured(look);
    figure.layout.hoverlabel = { bgcolor: css("--card") || (night.matches ? "#1d2125" : "#ffffff"), font: { color: css("--ink") || undefined } };
    if (matchMedia("(pointer: coarse)").matches) figure.layout.dragmode = false;
    rest.hidden = true;
    live.hidden = false;
    await Plotly.react(live, figure.data, figure.layout, config);
    names(panel, live, figure);
    if (!panel.dataset.live) keys(panel, live, figure);
    panel.dataset.live = "yes";
  };

  try {
    await load();
  } catch (trouble) {
    return;
  }
  const watch = new IntersectionObserver((seen) => {
    for (const each of seen) if (each.isIntersecting) { watch.unobserve(each.target); draw(each.target); }
  }, { rootMargin: "700px" });
  const panels = [...document.querySelectorAll(".plot .panel")];
  panels.forEach((panel) => watch.observe(panel));
  night.addEventListener("change", () => panels.filter((panel) => panel.dataset.live).forEach(draw));
})();
