// @ts-nocheck: what an audio thread has is not what a page has
// One clock for all sources: frame n of every source is at the same place of the same block, so that a switch cannot shift
// time. Blocks are in memory shared with the page, which fills a slot and says so, and asks for one back before it fills it again.
class Player extends AudioWorkletProcessor {
  constructor({ processorOptions: o }) {
    super();
    this.ring = new Float32Array(o.ring);
    this.block = o.block; this.frames = o.frames; this.channels = o.channels;
    this.slot = o.block * o.sources * o.channels;
    this.where = new Map(); // slot by block
    this.last = -1; this.base = -1; // the block that was read last, and where it begins
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
    if (m.forget) { for (const b of m.forget) this.where.delete(b); this.last = -1; this.port.postMessage({ forgot: m.forget }); }
    if (m.block !== undefined) { this.where.set(m.block, m.slot); this.last = -1; }
    if (m.source !== undefined && m.source !== this.source) { this.from = this.source; this.source = m.source; this.fade = this.fadeFrames; }
    if (m.loop !== undefined) this.loop = m.loop;
    if (m.seek !== undefined) this.jump(m.seek);
    if (m.playing !== undefined) this.playing = m.playing;
    if (m.gain !== undefined) this.goal = m.gain;
    if (m.end) { this.playing = false; this.ended = true; }
  }
  jump(to) { this.old = this.pos; this.oldFade = this.fadeFrames; this.pos = to; }
  at(source, channel, frame) {
    const b = Math.floor(frame / this.block);
    if (b !== this.last) { const s = this.where.get(b); this.last = b; this.base = s === undefined ? -1 : s * this.slot; }
    return this.base < 0 ? NaN : this.ring[this.base + (source * this.channels + channel) * this.block + frame - b * this.block];
  }
  process(_, [out]) {
    const n = out[0].length, step = 1 / this.fadeFrames, top = this.channels - 1;
    for (let i = 0; i < n; i++) {
      this.gain += (this.goal - this.gain) * this.smooth;
      if (Math.abs(this.goal - this.gain) < 1e-7) this.gain = this.goal;
      this.run = this.playing ? Math.min(1, this.run + step) : Math.max(0, this.run - step);
      if (this.run === 0 || this.pos >= this.frames) continue; // the output is silent unless it is written to
      let l = this.at(this.source, 0, this.pos), r = this.at(this.source, top, this.pos);
      if (l !== l) { this.starved++; this.run = 0; continue; } // the clock waits: nothing is skipped
      if (this.fade > 0) {
        const w = this.fade-- / this.fadeFrames;
        l += w * (this.at(this.from, 0, this.pos) - l); r += w * (this.at(this.from, top, this.pos) - r);
      }
      if (this.oldFade > 0) {
        const w = this.oldFade-- / this.fadeFrames, a = this.at(this.source, 0, this.old), b = this.at(this.source, top, this.old);
        l = (1 - w) * l + (a === a ? w * a : 0); r = (1 - w) * r + (b === b ? w * b : 0);
        this.old++;
      }
      const g = this.gain * this.run;
      out[0][i] = l * g;
      if (out.length > 1) out[1][i] = r * g;
      this.pos++;
      if (this.loop && this.pos === this.loop[1]) this.jump(this.loop[0]);
    }
    if (++this.quantum % 16 === 0) this.port.postMessage({ pos: this.pos, starved: this.starved, end: this.pos >= this.frames });
    return !(this.ended && this.run === 0);
  }
}
registerProcessor("player", Player);
