// @ts-nocheck: what an audio thread has is not what a page has
// One clock for all sources: frame n of every source is at the same place of the same block, so that a switch cannot shift
// time. Blocks are in memory shared with the page, which fills a slot and says so, and asks for one back before it fills it again.
// A store is that memory, for the files of one render; another may take its place, at the same frame.
class Store {
  constructor(o) {
    this.number = o.number;
    this.ring = new Float32Array(o.ring);
    this.block = o.block; this.frames = o.frames; this.channels = o.channels;
    this.slot = o.block * o.sources * o.channels;
    this.where = new Map(); // slot by block
    this.last = -1; this.base = -1; // the block that was read last, and where it begins
  }
  at(source, channel, frame) {
    const b = Math.floor(frame / this.block);
    if (b !== this.last) { const s = this.where.get(b); this.last = b; this.base = s === undefined ? -1 : s * this.slot; }
    return this.base < 0 ? NaN : this.ring[this.base + (source * this.channels + channel) * this.block + frame - b * this.block];
  }
}
class Player extends AudioWorkletProcessor {
  constructor({ processorOptions: o }) {
    super();
    this.store = new Store(o);
    this.before = this.store; // what was faded from last is read in
    this.coming = null; // what is to take the store's place
    this.fadeFrames = Math.round(.008 * sampleRate);
    this.smooth = 1 - Math.exp(-1 / (.012 * sampleRate));
    this.pos = o.pos; this.source = o.source; this.loop = o.loop;
    this.from = 0; this.fade = 0; // the source before a switch, and what is left of the fade
    this.old = 0; this.oldFade = 0; // the place before a jump
    this.playing = o.playing; this.run = 0; this.ended = false;
    this.gain = 0; this.goal = o.gain;
    this.starved = 0; this.quantum = 0;
    this.port.onmessage = e => this.hear(e.data);
  }
  hear(m) {
    const store = [this.store, this.coming, this.before].find(s => s && s.number === m.of);
    if (m.forget) { if (store) { for (const b of m.forget) store.where.delete(b); store.last = -1; } this.port.postMessage({ forgot: m.forget, of: m.of }); }
    if (m.block !== undefined && store) { store.where.set(m.block, m.slot); store.last = -1; }
    if (m.coming) this.coming = new Store(m.coming);
    if (m.swap !== undefined && this.coming) { // the clock goes on: frame n of the other files follows frame n - 1 of these, with the fade of a switch
      this.drop();
      this.before = this.store; this.store = this.coming; this.coming = null;
      this.from = this.source; this.source = m.swap; this.fade = this.run > 0 ? this.fadeFrames : 0;
      if (this.fade === 0) this.drop();
      this.port.postMessage({ swapped: this.store.number });
    }
    if (m.source !== undefined && m.source !== this.source) { this.drop(); this.from = this.source; this.source = m.source; this.fade = this.fadeFrames; }
    if (m.loop !== undefined) this.loop = m.loop;
    if (m.seek !== undefined) this.jump(m.seek);
    if (m.playing !== undefined) this.playing = m.playing;
    if (m.gain !== undefined) this.goal = m.gain;
    if (m.end) { this.playing = false; this.ended = true; }
  }
  // What was faded from is read no more, and its memory is the page's again.
  drop() { if (this.before !== this.store) { this.port.postMessage({ dropped: this.before.number }); this.before = this.store; } }
  jump(to) { this.old = this.pos; this.oldFade = this.fadeFrames; this.pos = to; }
  process(_, [out]) {
    const n = out[0].length, step = 1 / this.fadeFrames, s = this.store, top = s.channels - 1;
    for (let i = 0; i < n; i++) {
      this.gain += (this.goal - this.gain) * this.smooth;
      if (Math.abs(this.goal - this.gain) < 1e-7) this.gain = this.goal;
      this.run = this.playing ? Math.min(1, this.run + step) : Math.max(0, this.run - step);
      if (this.run === 0 || this.pos >= s.frames) continue; // the output is silent unless it is written to
      let l = s.at(this.source, 0, this.pos), r = s.at(this.source, top, this.pos);
      if (l !== l) { this.starved++; this.run = 0; continue; } // the clock waits: nothing is skipped
      if (this.fade > 0) {
        const w = this.fade-- / this.fadeFrames, a = this.before.at(this.from, 0, this.pos), b = this.before.at(this.from, top, this.pos);
        if (a === a && b === b) { l += w * (a - l); r += w * (b - r); }
        if (this.fade === 0) this.drop();
      }
      if (this.oldFade > 0) {
        const w = this.oldFade-- / this.fadeFrames, a = s.at(this.source, 0, this.old), b = s.at(this.source, top, this.old);
        l = (1 - w) * l + (a === a ? w * a : 0); r = (1 - w) * r + (b === b ? w * b : 0);
        this.old++;
      }
      const g = this.gain * this.run;
      out[0][i] = l * g;
      if (out.length > 1) out[1][i] = r * g;
      this.pos++;
      if (this.loop && this.pos === this.loop[1]) this.jump(this.loop[0]);
    }
    if (++this.quantum % 16 === 0) this.port.postMessage({ pos: this.pos, starved: this.starved, end: this.pos >= s.frames });
    return !(this.ended && this.run === 0);
  }
}
registerProcessor("player", Player);
