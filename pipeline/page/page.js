// @ts-check
// The page works without this. It adds a cursor along the lanes of a track, which reads its figures back out of the paths: their
// coordinates are the data.
(() => {
  document.documentElement.classList.add("js");

  /** One value a column, from a path of the steps M h v V z. @param {string} d @param {number} n @returns {number[]} */
  const columns = (d, n) => {
    const parts = d.match(/[a-zA-Z]|-?\d+/g) ?? [];
    /** @type {number[]} */ const all = [];
    let y = 0, i = 0;
    while (i < parts.length) {
      const command = parts[i++];
      if (command === "M") { i++; y = Number(parts[i++]); }
      else if (command === "h") for (let k = Number(parts[i++]); k > 0; k--) all.push(y);
      else if (command === "v") y += Number(parts[i++]);
      else if (command === "V" || command === "z") break;
    }
    while (all.length < n) all.push(y);
    return all;
  };
  const fixed = (/** @type {number} */ x) => x.toFixed(1).replace("-", "−");
  const clock = (/** @type {number} */ s) => `${Math.floor(s / 60)}:${(s % 60).toFixed(2).padStart(5, "0")}`;
  /** @type {Record<string, [string, string, number]>} */
  const words = { out: ["out", "dBFS", -24], in: ["in", "dBFS", NaN], loud: ["loudness", "LUFS", NaN], removed: ["removed", "dB", -60], mask: ["noise to mask", "dB", -50] };

  for (const figure of document.querySelectorAll(".time")) {
    const range = figure.querySelector("input"), out = figure.querySelector("output");
    if (!(figure instanceof HTMLElement) || !range || !out) continue;
    const n = Number(figure.dataset.columns), slot = Number(figure.dataset.slot);
    range.max = String(n - 1);
    const cursors = [...figure.querySelectorAll(".lane:not(.times):not(.reader) .plot")].map(plot => {
      const c = document.createElement("div");
      c.className = "cursor";
      c.hidden = true;
      plot.append(c);
      return c;
    });
    /** @type {{of: string, lane: string, values: number[], least: number}[] | undefined} */ let lanes;
    const read = () => [...figure.querySelectorAll("path[data-lane]")].map(p => {
      const top = Number(p.getAttribute("data-top")), lane = p.getAttribute("data-lane") ?? "";
      return { of: p.getAttribute("data-of") ?? "", lane, values: columns(p.getAttribute("d") ?? "", n).map(y => (top - y) / 10), least: words[lane]?.[2] ?? NaN };
    });
    const show = () => {
      lanes ??= read();
      const k = Number(range.value);
      for (const c of cursors) { c.hidden = false; c.style.left = `${100 * (k + .5) / n}%`; }
      /** @type {Map<string, string[]>} */ const chains = new Map();
      for (const l of lanes) {
        const v = l.values[k];
        if (l.lane === "in" && v <= Math.min(...l.values)) continue; // not over the ceiling: it is what came out
        const text = v <= l.least ? `${words[l.lane][0]} none` : `${words[l.lane][0]} ${fixed(v)} ${words[l.lane][1]}`;
        chains.set(l.of, [...chains.get(l.of) ?? [], text]);
      }
      out.textContent = `${clock((k + .5) * slot)}  ` + [...chains].map(([of, texts]) => `${of}: ${texts.join(", ")}`).join("; ");
      range.setAttribute("aria-valuetext", out.textContent);
    };
    range.addEventListener("input", show);
    range.addEventListener("focus", show);
    for (const plot of figure.querySelectorAll(".lane:not(.times):not(.reader) .plot")) {
      plot.addEventListener("pointermove", e => {
        const box = plot.getBoundingClientRect();
        const k = Math.floor((/** @type {PointerEvent} */ (e).clientX - box.left) / box.width * n);
        if (k >= 0 && k < n) { range.value = String(k); show(); }
      });
    }
  }
  // A link to a moment opens the list that it is in.
  const open = () => {
    const to = document.getElementById(decodeURIComponent(location.hash.slice(1)));
    const list = to?.closest("details");
    if (to && list && !list.open) { list.open = true; to.scrollIntoView(); }
  };
  addEventListener("hashchange", open);
  open();
})();
