// @ts-check
(() => {
  const $ = (/** @type {string} */ id) => /** @type {any} */ (document.getElementById(id));
  const here = location.pathname;
  const get = async (/** @type {string} */ path) => told(await fetch(here + path));
  const post = async (/** @type {object} */ body) => told(await fetch(here + "trial", { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) }));
  const told = async (/** @type {Response} */ r) => { if (!r.ok) throw new Error((await r.text()).trim()); return r.json(); };
  const element = (/** @type {string} */ name, /** @type {Record<string, any>} */ set = {}, /** @type {any[]} */ ...inside) => { const e = Object.assign(document.createElement(name), set); e.append(...inside); return e; };
  const minus = (/** @type {string} */ s) => s.replace("-", "−");
  const fixed = (/** @type {number} */ x, n = 1) => minus(x.toFixed(n));
  const clock = (/** @type {number} */ s) => `${Math.floor(s / 60)}:${(s % 60).toFixed(1).padStart(4, "0")}`;
  const say = (/** @type {string} */ text, bad = false) => { $("status").textContent = text; $("status").className = bad ? "bad" : ""; };
  const tell = (/** @type {any} */ e) => say(String(e?.message ?? e), true);

  /** @type {any} */ let release, /** @type {any} */ track, /** @type {any} */ session = null;
  let room = 0, number = 0, source = 0, playing = false, pos = 0;
  /** @type {[number, number] | null} */ let region = null; // frames
  let moment = -1;
  const heard = new Set();

  // --- what plays ---
  /** @type {AudioContext | null} */ let context = null;
  /** @type {any} */ let player = null;

  // Memory that is shared with the audio thread is used again: where it is only let go of, it may stay for long.
  /** @type {SharedArrayBuffer[]} */ const rings = [];
  const ringOf = (/** @type {number} */ bytes) => { const k = rings.findIndex(r => r.byteLength === bytes); return k < 0 ? new SharedArrayBuffer(bytes) : rings.splice(k, 1)[0]; };
  const keep = (/** @type {SharedArrayBuffer} */ ring) => { rings.unshift(ring); rings.length = Math.min(rings.length, 4); };

  /** @type {ArrayBuffer[]} */ const spare = []; // the same for what is fetched

  // A store is a ring of slots for the blocks of a track, and fetches what is next.
  let stores = 0;
  const newStore = (/** @type {any} */ track, /** @type {string} */ url, /** @type {number} */ sources) => {
    const number = ++stores, B = track.block, C = track.channels, all = Math.ceil(track.frames / B);
    const ahead = Math.ceil(2 * track.rate_hz / B) + 1, pinned = 4, size = B * C * sources;
    const slots = ahead + pinned + 6, ring = ringOf(slots * size * 4), view = new Float32Array(ring);
    const free = [...Array(slots).keys()];
    /** @type {Map<number, number>} */ const where = new Map(); // slot by block
    /** @type {Map<number, AbortController>} */ const coming = new Map();
    let forgetting = 0, over = false;
    const wanted = () => {
      const k = Math.min(Math.floor(pos / B), all - 1), w = [];
      for (let i = k; i < Math.min(all, k + ahead); i++) w.push(i);
      if (k > 0) w.push(k - 1);
      const l = looped();
      if (l) for (let i = Math.floor(l[0] / B); i <= Math.min(Math.floor(l[1] / B), Math.floor(l[0] / B) + pinned - 1, all - 1); i++) if (!w.includes(i)) w.push(i);
      return w;
    };
    const feed = () => {
      if (over) return;
      const w = wanted();
      const missing = w.filter(b => !where.has(b) && !coming.has(b));
      if (missing.length > free.length && !forgetting) {
        const forget = [...where.keys()].filter(b => !w.includes(b)).sort((a, b) => Math.abs(b * B - pos) - Math.abs(a * B - pos)).slice(0, missing.length);
        if (forget.length) { forgetting++; store.send({ forget }); }
      }
      for (const b of missing) { // what is under way comes to its end even if it is not wanted any more: to stop it would lose its memory for a while
        if (coming.size >= 2 || !free.length) break;
        load(b, /** @type {number} */ (free.shift()));
      }
    };
    const load = async (/** @type {number} */ b, /** @type {number} */ slot) => {
      const a = new AbortController();
      coming.set(b, a);
      try {
        const r = await fetch(here + url + b, { signal: a.signal });
        if (!r.ok) throw new Error((await r.text()).trim());
        const bytes = await body(r, size * 4);
        spare.unshift(bytes);
        spare.length = Math.min(spare.length, 4);
        if (over) throw new Error("over"); // the ring may be another's
        view.set(new Float32Array(bytes), slot * size);
        where.set(b, slot);
        store.send({ block: b, slot });
      } catch (e) {
        free.push(slot);
        if (!over && /** @type {any} */ (e).name !== "AbortError") { tell(e); await new Promise(r => setTimeout(r, 500)); }
      }
      coming.delete(b);
      feed();
    };
    const store = {
      number, feed, options: { number, ring, block: B, frames: track.frames, channels: C, sources },
      send: (/** @type {any} */ _) => {}, // to the node, which a player sets
      ready: () => { const k = Math.floor(pos / B); return [k, k + 1].every(b => b >= all || where.has(b)); },
      forgot: (/** @type {number[]} */ blocks) => { forgetting--; for (const b of blocks) { free.push(/** @type {number} */ (where.get(b))); where.delete(b); } feed(); },
      end: () => { over = true; }, // what is under way comes to its end
      stop: () => { over = true; for (const a of coming.values()) a.abort(); },
    };
    return store;
  };
  // A player has the node that plays a store.
  const newPlayer = (/** @type {any} */ store) => {
    let over = false, swapped = () => {};
    /** @type {any[]} */ const before = []; // stores that the node may still fade from
    const node = new AudioWorkletNode(/** @type {AudioContext} */ (context), "player", { numberOfInputs: 0, outputChannelCount: [2],
      processorOptions: { ...store.options, pos, source, loop: looped(), playing, gain: gain() } });
    node.connect(/** @type {AudioContext} */ (context).destination);
    const wire = (/** @type {any} */ s) => { s.send = (/** @type {object} */ m) => { if (!over) node.port.postMessage({ ...m, of: s.number }); }; s.feed(); };
    node.port.onmessage = e => {
      const m = e.data;
      if (m.forgot && m.of === store.number) store.forgot(m.forgot);
      if (m.swapped === store.number) swapped();
      for (const s of before.filter(s => s.number === m.dropped)) { before.splice(before.indexOf(s), 1); keep(s.options.ring); }
      if (m.pos !== undefined && !over) { starved = m.starved; pos = p.moved ?? m.pos; if (m.end && playing && !looped()) pause(); store.feed(); draw(); }
      if (p.moved !== null && m.pos !== undefined) p.moved = null;
    };
    const p = {
      /** @type {number | null} */ moved: null, // where a jump goes until the node tells of it
      send: (/** @type {object} */ m) => node.port.postMessage(m),
      feed: () => store.feed(),
      end: () => { over = true; store.stop(); node.port.postMessage({ end: true }); setTimeout(() => { node.disconnect(); for (const s of [store, ...before.splice(0)]) keep(s.options.ring); }, 100); },
      // Another store takes over at the frame at which the node is, once it has what is next there. False: the player ended before.
      swap: async (/** @type {any} */ other, /** @type {() => number} */ source) => {
        node.port.postMessage({ coming: other.options });
        wire(other);
        while (!over && !other.ready()) { await new Promise(r => setTimeout(r, 20)); other.feed(); }
        if (over) { other.end(); return false; } // its ring is gone with the node
        await new Promise(r => { swapped = () => r(null); store.end(); before.push(store); store = other; node.port.postMessage({ swap: source() }); });
        return true;
      },
    };
    wire(store);
    return p;
  };
  let starved = 0;
  // The bytes of an answer, in a buffer that is used again where the browser can.
  const body = async (/** @type {Response} */ r, /** @type {number} */ size) => {
    let reader;
    try { reader = /** @type {any} */ (r.body).getReader({ mode: "byob" }); } catch { return r.arrayBuffer(); }
    const k = spare.findIndex(b => b.byteLength === size);
    let buffer = k < 0 ? new ArrayBuffer(size) : spare.splice(k, 1)[0], at = 0;
    while (at < size) {
      const { value, done } = await reader.read(new Uint8Array(buffer, at, size - at));
      if (done || !value) throw new Error("a block that is cut off");
      buffer = value.buffer;
      at += value.byteLength;
    }
    await reader.cancel();
    return buffer;
  };

  const decibels = () => Math.min(Number($("volume").value), 0);
  const gain = () => Math.min(1, 10 ** (decibels() / 20));
  const looped = () => $("loop").checked ? region : null;

  const start = async () => {
    if (context && context.sampleRate !== track.rate_hz) { player?.end(); player = null; await context.close(); context = null; }
    if (!context) {
      context = new AudioContext({ sampleRate: track.rate_hz, latencyHint: "interactive" });
      await context.audioWorklet.addModule(here + "player.js");
    }
    if (context.state !== "running") await context.resume();
    const same = context.sampleRate === track.rate_hz;
    $("rate").textContent = `The file has ${track.rate_hz} Hz; the browser plays at ${context.sampleRate} Hz` + (same ? "; the output device may still convert." : " and converts: this is not exact.");
    $("rate").className = same ? "note" : "bad";
    player ??= newPlayer(session ? newStore(track, `trial/${session.session}/${session.at}/`, session.letters.length) : newStore(track, `block/${room}/${number}/`, track.sources.length));
  };
  // Only one start at a time: two would make two contexts.
  /** @type {Promise<void> | null} */ let starting = null;
  const started = () => starting ??= start().finally(() => { starting = null; });
  const play = async () => {
    try { await started(); } catch (e) { tell(e); return; }
    if (pos >= track.frames) jump(0);
    playing = true;
    heard.add(source);
    player.send({ playing });
    pressed();
  };
  const pause = () => { playing = false; player?.send({ playing }); pressed(); };
  const toggle = () => playing ? pause() : play();
  const jump = (/** @type {number} */ frame) => {
    pos = Math.max(0, Math.min(Math.round(frame), track.frames - 1));
    if (player) { player.moved = pos; player.send({ seek: pos }); player.feed(); }
    draw();
  };
  const select = (/** @type {number} */ k) => {
    if (k < 0 || k >= names().length) return;
    source = k;
    if (playing) heard.add(k);
    player?.send({ source });
    pressed();
  };
  const names = () => session ? session.letters : (track?.sources ?? []).map((/** @type {any} */ s) => s.name);

  // --- what is seen ---
  const pressed = () => {
    $("play").textContent = playing ? "Pause" : "Play";
    $("play").setAttribute("aria-pressed", String(playing));
    [...$("sources").children].forEach((b, k) => b.setAttribute("aria-pressed", String(k === source)));
    for (const b of document.querySelectorAll("#answers [data-answer]")) /** @type {any} */ (b).disabled = heard.size < names().length;
    const left = names().filter((/** @type {string} */ _, /** @type {number} */ k) => !heard.has(k));
    if (session) $("wait").textContent = left.length ? `Play ${left.join(" and ")} first.` : "";
  };
  const draw = () => {
    const s = pos / track.rate_hz;
    $("clock").textContent = `${clock(s)} of ${clock(track.frames / track.rate_hz)}`;
    $("position").value = String(s);
    $("position").setAttribute("aria-valuetext", clock(s));
    $("cursor").style.left = `${100 * pos / track.frames}%`;
  };
  const svg = (/** @type {string} */ name, /** @type {Record<string, any>} */ set) => { const e = document.createElementNS("http://www.w3.org/2000/svg", name); for (const k in set) e.setAttribute(k, String(set[k])); return e; };
  const drawRegion = () => {
    const W = 700, H = 72, top = 14, over = $("overview"); // the marks are above the peaks, where they are seen
    const x = (/** @type {number} */ frame) => W * frame / track.frames;
    over.replaceChildren();
    const peaks = track.peaks ?? [];
    if (peaks.length) {
      const y = (/** @type {number | null} */ db) => H - (H - top) * Math.max(0, 1 + Math.min(0, db ?? -99) / 40);
      over.append(svg("path", { class: "peaks", d: `M0 ${H}` + peaks.map((/** @type {any} */ p, /** @type {number} */ i) => `L${(W * i / peaks.length).toFixed(1)} ${y(p).toFixed(1)}H${(W * (i + 1) / peaks.length).toFixed(1)}`).join("") + `V${H}Z` }));
    }
    const [a, b] = region ?? [0, track.frames];
    if (region) {
      over.append(svg("rect", { class: "outside", x: 0, width: x(a), y: top, height: H - top }), svg("rect", { class: "outside", x: x(b), width: W - x(b), y: top, height: H - top }));
      over.append(svg("path", { class: "edge", d: `M${x(a)} ${top}v${H - top}M${x(b)} ${top}v${H - top}` }));
    }
    track.moments.forEach((/** @type {any} */ m, /** @type {number} */ k) => over.append(svg("path", { class: k === moment ? "worst chosen" : "worst", d: `M${x(m.time_s * track.rate_hz)} 0v${top - 3}` })));
    const length = track.frames / track.rate_hz;
    over.setAttribute("aria-label", `Peaks along the track, ${clock(length)}` + (peaks.length ? "" : " (not recorded)") + `, with ${track.moments.length} worst moments, which are listed below` +
      (region ? `; the region is from ${clock(a / track.rate_hz)} to ${clock(b / track.rate_hz)}.` : "; no region is set."));
    const step = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1200, 3600].find(s => length / s <= 5) ?? 7200, times = [];
    for (let s = 0; s < .82 * length; s += step) times.push(s); // the last is the length, and needs its room
    times.push(length);
    $("times").replaceChildren(...times.map(s => { const e = element("span", { textContent: s === length ? clock(s) : clock(s).slice(0, -2) }); e.style.left = `${100 * s / length}%`; return e; }));
    $("from").value = (a / track.rate_hz).toFixed(2);
    $("to").value = (b / track.rate_hz).toFixed(2);
  };
  const setRegion = (/** @type {number} */ a, /** @type {number} */ b, loop = true) => {
    a = Math.max(0, Math.min(Math.round(a), track.frames)); b = Math.max(0, Math.min(Math.round(b), track.frames));
    const least = Math.round(.1 * track.rate_hz);
    region = b - a < least ? null : [a, b];
    if (!region) say("A region is 0.1 s or more."); else say("");
    $("loop").checked = !!region && loop;
    player?.send({ loop: looped() });
    player?.feed();
    drawRegion();
  };
  const toMoment = (/** @type {number} */ k) => {
    if (!track.moments.length) return;
    moment = (k + track.moments.length) % track.moments.length;
    const m = track.moments[moment], half = Number($("length").value) / 2;
    const a = Math.max(0, (m.time_s - half) * track.rate_hz), b = Math.min(track.frames, (m.time_s + half) * track.rate_hz);
    setRegion(a, b);
    jump(a);
    drawRegion();
    [...$("moments").querySelectorAll("button")].forEach((e, i) => e.setAttribute("aria-pressed", String(i === moment)));
    say(`${clock(m.time_s)}: ${m.text}`);
  };
  const matched = () => { const s = track.sources.find((/** @type {any} */ s) => !s.silent); return s ? `, ${fixed(s.matched_lufs, 2)} LUFS` : ""; };
  const showSources = () => {
    $("sources").replaceChildren(...names().map((/** @type {string} */ name, /** @type {number} */ k) => {
      const b = element("button", { onclick: () => select(k) }, element("kbd", { textContent: String(k + 1) }), name);
      if (!session) { const s = track.sources[k]; b.append(element("span", { className: "note", textContent: s.silent ? "no loudness" : `${fixed(s.loudness_lufs)} LUFS, played at ${fixed(s.gain_db, 2)} dB`, title: s.file })); }
      return b;
    }));
    $("match").textContent = session ? "Names are hidden until the end. All are at one loudness." :
      `All are played at the loudness of the quietest${matched()}: as they are played they differ by ${track.spread_lu.toFixed(4)} LU at most. The files are not touched.`;
    $("notes").textContent = track.notes.join(" ");
    $("notes").hidden = !!session || !track.notes.length; // they have names
    pressed();
  };

  let entered = 0; // how often a track was
  const enter = async (/** @type {number} */ n) => {
    const turn = ++entered;
    say("Reading the files and matching their loudness.");
    pause();
    player?.end(); player = null;
    $("room").hidden = $("plan").hidden = $("worst").hidden = $("result").hidden = $("renewed").hidden = true;
    const t = await get(`track/${release.room}/${n}`);
    if (turn !== entered) return;
    track = t;
    room = release.room; number = n; source = 0; pos = 0; region = null; moment = -1; heard.clear();
    $("loop").checked = false;
    fill();
    $("room").hidden = false;
    say("");
    showSources(); drawRegion(); draw(); mode();
  };
  // What there is to choose from on a track; what was chosen for a trial stays chosen.
  const fill = () => {
    const was = new Map([...$("compared").querySelectorAll("input")].map(e => [e.dataset.name, e.checked])), reference = $("reference").selectedOptions[0]?.textContent;
    const kept = track.sources.filter((/** @type {any} */ s) => was.get(s.name)).length > 1;
    $("track").value = String(number);
    $("position").max = String(track.frames / track.rate_hz);
    $("volume").max = String(Math.floor(2 * Math.min(0, -track.peak_dbfs)) / 2); // nothing is driven over full scale
    level();
    $("worst").hidden = !track.moments.length;
    $("moments").replaceChildren(...track.moments.map((/** @type {any} */ m, /** @type {number} */ k) => element("li", {}, element("button", { onclick: () => toMoment(k), textContent: `${clock(m.time_s)}: ${m.text}` }))));
    $("compared").replaceChildren(...track.sources.map((/** @type {any} */ s, /** @type {number} */ k) => {
      const box = element("input", { type: "checkbox", value: String(k), checked: kept ? was.get(s.name) : k < 2, onchange: plan });
      box.dataset.name = s.name;
      return element("label", {}, box, " " + s.name);
    }));
    $("reference").replaceChildren(...track.sources.map((/** @type {any} */ s, /** @type {number} */ k) => element("option", { value: String(k), textContent: s.name, selected: s.name === reference })));
  };
  const level = () => { $("level").textContent = `${fixed(decibels())} dB`; $("volume").setAttribute("aria-valuetext", `${fixed(decibels())} dB`); player?.send({ gain: gain() }); };
  const mode = () => {
    $("trial").hidden = !session;
    $("plan").hidden = !!session || !$("result").hidden;
    $("choice").hidden = !!session || release.tracks.length < 2;
    plan();
  };

  // --- trials ---
  const kind = () => $("form").elements.kind.value;
  const chosen = () => [...$("compared").querySelectorAll("input:checked:not(:disabled)")].map(e => Number(e.value));
  const plan = () => {
    if (!track) return;
    const k = kind(), n = Number($("trials").value), reference = Number($("reference").value);
    $("referencerow").hidden = k !== "grades";
    for (const e of $("compared").querySelectorAll("input")) e.disabled = k === "grades" && Number(e.value) === reference;
    const c = chosen().length, fits = k === "abx" ? c === 2 : k === "preference" ? c >= 2 : c >= 1;
    $("per").textContent = k === "abx" ? "" : k === "preference" ? " of each pair" : " of each graded source";
    const p = release.plans.find((/** @type {any} */ p) => p.trials === n);
    let text = "";
    if (!fits) text = k === "abx" ? "Choose two." : k === "preference" ? "Choose two or more." : "Choose what is graded.";
    else if (k === "abx") text = !p ? `Choose ${release.plans.length} trials or fewer.` : p.needed > n ? "So few trials find nothing at 5 %." :
      `${p.needed} of ${n} right answers are needed at 5 %. Someone who hears the difference in 70 % of the trials gets there with a probability of ${p.power.toFixed(2)}` + (p.power < .8 ? "; 42 trials or more have 0.8." : ".");
    else text = `${n * (k === "preference" ? c * (c - 1) / 2 : c)} trials in all.`;
    $("power").textContent = text;
    $("begin").disabled = !fits;
  };
  const begin = async () => {
    await started();
    const s = await post({ do: "begin", room, track: number, kind: kind(), trials: Number($("trials").value), sources: chosen(), reference: Number($("reference").value), context_hz: Math.round(context?.sampleRate ?? 0) });
    await next(s);
  };
  // Nothing more is fetched of a trial that is being left.
  const leaving = async (/** @type {object} */ body) => {
    player?.end(); player = null;
    try { return await post(body); } catch (e) {
      const s = await get("trial"), end = s.stopped;
      if (end?.session === session.session) return end; // it was stopped in this moment
      if (context) await started();
      throw e;
    }
  };
  const next = async (/** @type {any} */ s) => {
    session = s; source = 0; heard.clear();
    player?.end(); player = null;
    if (region) pos = region[0];
    if (context) await started();
    if (playing) heard.add(source);
    $("result").hidden = true;
    $("trialhead").textContent = `Trial ${s.at} of ${s.rounds}`;
    const reply = (/** @type {object} */ more) => attempt(async () => {
      const a = await leaving({ do: "answer", session: session.session, trial: session.at, from_s: region ? region[0] / track.rate_hz : 0, to_s: region ? region[1] / track.rate_hz : 0, volume_db: decibels(), ...more });
      a.result ? finish(a) : await next(a);
    });
    const answer = (/** @type {string} */ text, /** @type {() => object} */ more) => { const b = element("button", { textContent: text, onclick: () => reply(more()) }); b.dataset.answer = ""; return b; };
    const wait = element("span", { id: "wait", className: "note" });
    if (s.kind === "grades") {
      $("ask").textContent = "A is the reference. One of B and C is the same again, hidden. Grade both against A.";
      const words = ["", "very annoying", "annoying", "slightly annoying", "perceptible, not annoying", "imperceptible"];
      const grade = (/** @type {string} */ name) => {
        const out = element("output"), r = element("input", { type: "range", min: "1", max: "5", step: "0.1", value: "5" });
        const show = () => { const v = Number(r.value); out.textContent = `${v.toFixed(1)}, ${words[Math.floor(v)]}`; r.setAttribute("aria-valuetext", out.textContent); };
        r.oninput = show; show();
        return { r, label: element("label", {}, `${name}: `, out, r) };
      };
      const b = grade("B"), c = grade("C");
      $("answers").replaceChildren(b.label, c.label, answer("Give these grades", () => ({ grades: [Number(b.r.value), Number(c.r.value)] })), wait);
    } else {
      const abx = s.kind === "abx";
      $("ask").textContent = abx ? "X is A or B. Which?" : "Which do you prefer?";
      $("answers").replaceChildren(...["A", "B"].map(l => answer(abx ? `X is ${l}` : `I prefer ${l}`, () => ({ choice: l }))), wait);
    }
    mode(); showSources();
    $("trialhead").focus({ preventScroll: true });
  };
  const finish = (/** @type {any} */ a) => {
    pause();
    session = null; source = 0; heard.clear();
    player?.end(); player = null;
    const r = a.result, letters = Object.keys(r.answers[0]?.played ?? {}).sort();
    const words = [...a.words];
    if (!r.complete) words.unshift(`Stopped after ${r.answers.length} ${r.answers.length === 1 ? "answer" : "answers"}${r.stopped ? `, because ${r.stopped}` : ""}: this says nothing.`);
    $("found").replaceChildren(...words.map((/** @type {string} */ w) => element("p", { textContent: minus(w) })));
    const note = (/** @type {string} */ t) => $("found").append(element("p", { className: "note", textContent: t }));
    for (const o of r.outcomes) if (o.share_95) note(`${o.first} / ${o.second}: the true share is between ${(100 * o.share_95[0]).toFixed(1)} and ${(100 * o.share_95[1]).toFixed(1)} % (95 %, Clopper and Pearson), if the trials are alike.`);
    if (a.not_equal) note(a.not_equal + ".");
    if (a.file) note(`Kept in ${a.file}.`);
    document.querySelector("#result .wide").hidden = !r.answers.length;
    const judged = r.protocol.kind === "abx";
    $("head").replaceChildren(element("tr", {}, ...["trial", ...letters, "answer", ...(judged ? ["right?"] : [])].map(t => element("th", { scope: "col", textContent: t }))));
    $("rows").replaceChildren(...r.answers.map((/** @type {any} */ q) => element("tr", {}, ...[q.trial, ...letters.map(l => q.played[l]), q.choice ?? `B ${q.grades.B.toFixed(1)}, C ${q.grades.C.toFixed(1)}`, ...(judged ? [q.right ? "yes" : "no"] : [])].map(t => element("td", { textContent: String(t) })))));
    $("result").hidden = false;
    mode(); showSources();
    $("resulthead").focus({ preventScroll: true });
    if (seen !== room) renew();
  };

  // --- what is rendered again ---
  let seen = 0; // the newest room that was told of
  /** @type {Promise<void>} */ let renewing = Promise.resolve();
  const renew = () => { renewing = renewing.then(() => attempt(renewed)); };
  const renewed = async () => {
    const s = await get("trial");
    if (session && s.session === session.session) return; // its files are the same: after it
    if (session && s.stopped?.session === session.session) finish(s.stopped);
    const turn = entered;
    release = await get("release.json");
    titled();
    if (!release.room || release.room === room) return;
    const n = track ? release.tracks.indexOf(track.name) : 0;
    if (n < 0) { await enter(0); return; }
    if (!track) { await enter(n); return; }
    const t = await get(`track/${release.room}/${n}`);
    if (turn !== entered || session) return;
    await swap(t, n);
  };
  // The files of another render take the place of those that are heard, at the same place, in the same loop, from the same source.
  const swap = async (/** @type {any} */ t, /** @type {number} */ n) => {
    const was = track, scale = t.rate_hz / was.rate_hz, alike = scale === 1 && t.channels === was.channels;
    let k = -1;
    const same = () => { k = t.sources.findIndex((/** @type {any} */ s) => s.name === was.sources[source].name); return Math.max(0, k); };
    if (player && playing && alike && pos < t.frames) {
      if (!await player.swap(newStore(t, `block/${release.room}/${n}/`, t.sources.length), same)) return;
    } else { player?.end(); player = null; same(); }
    track = t; room = release.room; number = n; source = Math.max(0, k); moment = -1; heard.clear();
    pos = Math.min(Math.round(pos * scale), track.frames - 1);
    if (region) region = [Math.min(Math.round(region[0] * scale), track.frames), Math.min(Math.round(region[1] * scale), track.frames)];
    if (region && region[1] - region[0] < .1 * track.rate_hz) { region = null; $("loop").checked = false; }
    if (player) player.send({ loop: looped() }); else if (playing) await started();
    const other = track.sources.filter((/** @type {any} */ s) => was.sources.find((/** @type {any} */ w) => w.name === s.name)?.sha256 !== s.sha256).map((/** @type {any} */ s) => s.name);
    const gone = was.sources.filter((/** @type {any} */ w) => !track.sources.some((/** @type {any} */ s) => s.name === w.name)).map((/** @type {any} */ w) => w.name);
    const time = new Date().toTimeString().slice(0, 8);
    say("");
    $("renewed").textContent = `Rendered again at ${time}, and matched again. ` + (other.length ? `New: ${other.join(", ")}. ` : "All files of this track are as they were. ") + (gone.length ? `Gone: ${gone.join(", ")}. ` : "") +
      (k < 0 ? `You hear ${track.sources[source].name} now.` : "Place, loop and source are as they were.");
    $("renewed").hidden = false;
    fill(); showSources(); drawRegion(); draw(); mode();
  };
  const follow = async () => {
    for (;;) {
      let n;
      try { n = await get("next/" + seen); } catch { say("What served this page has ended. Start it again, and open the address that it prints.", true); return; }
      if (n.room !== seen) { seen = n.room; renew(); }
    }
  };
  const titled = () => {
    $("title").textContent = release.title ? `: ${release.title}` : "";
    document.title = release.title ? `Listening: ${release.title}` : "Listening";
    $("track").replaceChildren(...release.tracks.map((/** @type {string} */ n, /** @type {number} */ k) => element("option", { value: String(k), textContent: n })));
    $("track").value = String(number);
  };
  const attempt = async (/** @type {() => Promise<any>} */ f) => { try { await f(); } catch (e) { tell(e); } };

  // --- what is done ---
  $("play").onclick = toggle;
  $("volume").oninput = level;
  $("position").oninput = () => jump(Number($("position").value) * track.rate_hz);
  $("loop").onchange = () => { if ($("loop").checked && !region) { if (track.moments.length) toMoment(Math.max(0, moment)); else setRegion(pos, pos + 4 * track.rate_hz); } player?.send({ loop: looped() }); player?.feed(); };
  const numbers = () => setRegion(Number($("from").value) * track.rate_hz, Number($("to").value) * track.rate_hz);
  $("from").onchange = $("to").onchange = numbers;
  const startHere = () => setRegion(pos, region && region[1] > pos ? region[1] : track.frames);
  const endHere = () => setRegion(region && region[0] < pos ? region[0] : 0, pos);
  $("fromhere").onclick = startHere;
  $("tohere").onclick = endHere;
  $("none").onclick = () => { region = null; $("loop").checked = false; player?.send({ loop: null }); drawRegion(); };
  $("track").onchange = () => attempt(() => enter(Number($("track").value)));
  $("form").oninput = plan;
  $("form").onsubmit = (/** @type {Event} */ e) => { e.preventDefault(); attempt(begin); };
  $("stop").onclick = () => attempt(async () => finish(await leaving({ do: "stop", session: session.session })));
  $("back").onclick = () => { $("result").hidden = true; mode(); $("play").focus(); };
  // A drag over the picture sets the region, a click the position.
  {
    const box = $("overview").parentElement;
    let from = -1;
    const frame = (/** @type {PointerEvent} */ e) => { const r = box.getBoundingClientRect(); return Math.max(0, Math.min(1, (e.clientX - r.left) / r.width)) * track.frames; };
    box.onpointerdown = (/** @type {PointerEvent} */ e) => { from = frame(e); box.setPointerCapture(e.pointerId); };
    box.onpointerup = (/** @type {PointerEvent} */ e) => {
      if (from < 0) return;
      const to = frame(e), wide = Math.abs(to - from) / track.frames * box.getBoundingClientRect().width;
      if (wide < 5) jump(to); else { setRegion(Math.min(from, to), Math.max(from, to)); if (region) jump(region[0]); }
      from = -1;
    };
  }
  addEventListener("keydown", e => {
    const t = /** @type {any} */ (e.target);
    if (!track || !$("keys").checked || e.ctrlKey || e.altKey || e.metaKey || e.defaultPrevented) return;
    if (t.matches("input[type=number], select, textarea")) return;
    const act = /** @type {Record<string, () => void>} */ ({ n: () => toMoment(moment + 1), b: () => toMoment(moment - 1), l: () => $("loop").click(), s: startHere, e: endHere, r: () => jump(region ? region[0] : 0) })[e.key];
    if (e.key === " " && !t.matches("button, input, summary")) { e.preventDefault(); toggle(); } else if (/^[1-9]$/.test(e.key)) select(Number(e.key) - 1); else if (act) act(); else return;
  });

  attempt(async () => {
    release = await get("release.json");
    titled();
    seen = release.room;
    follow();
    if (!release.room) { say("Nothing is rendered yet. This page goes on as soon as something is."); return; }
    const s = await get("trial");
    await enter(s.session ? s.track : 0);
    if (s.session) await next(s);
  });
})();
