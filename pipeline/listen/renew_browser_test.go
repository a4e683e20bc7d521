package listen_test

import (
	"strings"
	"testing"

	"ledgerline/pipeline/trial"
)

// swapped plays a source of track 0 of the first room through the page's own player into an
// OfflineAudioContext, and has one of the second room take its place while it plays. Told are runs as those
// of capture, where k from 4 on are the sources of the second room.
const swapped = `(async () => {
	const base = location.pathname, blocks = 8, first = await (await fetch(base + "track/1/0")).json(), rate = first.rate_hz, B = first.block;
	const store = async (room, number) => {
		const track = await (await fetch(base + "track/" + room + "/0")).json(), S = track.sources.length, size = 2 * B * S;
		const ring = new SharedArrayBuffer(blocks * size * 4), view = new Float32Array(ring);
		for (let b = 0; b < blocks; b++) view.set(new Float32Array(await (await fetch(base + "block/" + room + "/0/" + b)).arrayBuffer()), b * size);
		return { size, view, options: { number, ring, block: B, frames: track.frames, channels: 2, sources: S } };
	};
	const one = await store(1, 1), two = await store(2, 2);
	const length = 2 * rate, c = new OfflineAudioContext(2, length, rate);
	await c.audioWorklet.addModule(base + "player.js");
	const loop = LOOP;
	const node = new AudioWorkletNode(c, "player", { numberOfInputs: 0, outputChannelCount: [2], processorOptions: { ...one.options, pos: 0, source: 1, loop, playing: true, gain: 1 } });
	node.connect(c.destination);
	for (let b = 0; b < blocks; b++) node.port.postMessage({ block: b, slot: b, of: 1 });
	node.port.postMessage({ coming: two.options });
	for (let b = 0; b < blocks; b++) node.port.postMessage({ block: b, slot: b, of: 2 });
	await new Promise(r => setTimeout(r, 100));
	const at = (time, message) => c.suspend(time).then(async () => { node.port.postMessage(message); await new Promise(r => setTimeout(r, 30)); c.resume(); });
	at(.6, { swap: 2 });
	at(1.2, { source: 3 });
	const out = await c.startRendering(), x = [out.getChannelData(0), out.getChannelData(1)];
	const value = (k, ch, n) => { const s = k < 4 ? one : two; return s.view[Math.floor(n / B) * s.size + (2 * (k % 4) + ch) * B + n % B]; };
	const place = i => { if (!loop || i < loop[1]) return i; return loop[0] + (i - loop[1]) % (loop[1] - loop[0]); };
	const runs = [];
	let mixed = 0;
	for (let i = Math.round(.25 * rate); i < length; i++) {
		const n = place(i), k = [1, 6, 7].find(k => x[0][i] === value(k, 0, n) && x[1][i] === value(k, 1, n));
		if (k === undefined) { mixed++; continue; }
		const last = runs.at(-1);
		if (last && last.k === k) { last.to = i; last.n++; } else runs.push({ k, from: i, to: i, n: 1 });
	}
	return { runs, mixed, order: [6, 7] };
})()`

// The files of another render follow at the frame where those of before were left, bit for bit but for one
// fade.
func TestInABrowserAnotherRenderFollowsAtTheSameFrame(t *testing.T) {
	inALongRun(t)
	s := serve(t)
	b := open(t, s)
	s.again(changed)
	for loop, jumps := range map[string]int{"null": 0, "[7000, 21000]": (2*rate-21000)/14000 + 1} {
		c := ask[captured](b, replaced(swapped, "LOOP", loop))
		if len(c.Runs) == 0 || c.Runs[0].K != 1 {
			t.Fatalf("%+v", c)
		}
		c.Runs = c.Runs[1:]
		checkOrder(t, c.Runs, []int{6, 7}, 1)
		if most := (2 + jumps) * fadeFrames; c.Mixed > most || c.Mixed < fadeFrames {
			t.Errorf("%d frames are of no one source, where fades have %d at most", c.Mixed, most)
		}
	}
	b.Quiet()
}

// checkOrder says whether runs are of sources in an order; one may come first that goes on.
func checkOrder(t *testing.T, runs []struct{ K, From, To, N int }, want []int, first int) {
	t.Helper()
	var order []int
	for _, r := range runs {
		if n := len(order); r.K != first && (n == 0 || order[n-1] != r.K) {
			order = append(order, r.K)
		}
	}
	if !equal(order, want) {
		t.Errorf("heard %v, want %v", order, want)
	}
}

// The page plays on when the release is rendered again: from where it is, in its loop, from the source that
// was chosen, which it says, and with the loudness that was matched again.
func TestInABrowserThePagePlaysOn(t *testing.T) {
	inALongRun(t)
	s := serve(t)
	b := open(t, s)
	b.key("n")
	b.key("3")
	b.key(" ")
	b.await(position + ` > Number(document.getElementById("from").value) + 0.2`)
	const choice = `[document.getElementById("from").value, document.getElementById("to").value, ` +
		`String(document.getElementById("loop").checked), document.querySelector("#sources ` +
		`[aria-pressed=true]").firstChild.nextSibling.data].join(" ")`
	const level = `document.querySelector("#sources [aria-pressed=true] .note").textContent`
	before, matched := ask[string](b, choice), ask[string](b, level)
	// Where it plays is watched from now on: it goes back only where the loop does.
	ask[bool](b, `(() => { window.places = []; const p = document.getElementById("position"); window.timer = `+
		`setInterval(() => places.push([performance.now(), Number(p.value)]), 10); return true; })()`)
	s.again(changed)
	b.await(`!document.getElementById("renewed").hidden`)
	b.shot("renewed")
	b.await(`(window.since ??= performance.now()) < performance.now() - 300`)
	if got := ask[string](b, choice); got != before {
		t.Errorf("before %s, now %s", before, got)
	}
	if got := ask[string](b, level); got == matched {
		t.Errorf("the loudness that is told stays %q", got)
	}
	if text := ask[string](b, `document.getElementById("renewed").textContent`); !strings.Contains(text,
		"New: deep. ") || !strings.HasSuffix(text, "Place, loop and source are as they were.") {
		t.Errorf("it says %q", text)
	}
	if got := ask[string](b, `document.getElementById("play").textContent`); got != "Pause" {
		t.Error("it does not play on")
	}
	away := ask[[]float64](b,
		`(() => { clearInterval(timer); const a = Number(document.getElementById("from").value), z = `+
			`Number(document.getElementById("to").value); return places.map(p => p[1]).filter(p => p < a - .01 || p `+
			`> z + .01); })()`)
	if len(away) > 0 {
		t.Errorf("it left the loop: %v", away)
	}
	b.Quiet()
}

// A source that is gone is said to be, and the first one is heard.
func TestInABrowserASourceGoes(t *testing.T) {
	inALongRun(t)
	s := serve(t)
	b := open(t, s)
	b.key("4")
	s.again(strings.Replace(text, "[variant.mild]\ndrive.gain_db = 3.0\n", "", 1))
	b.await(`!document.getElementById("renewed").hidden`)
	if text := ask[string](b, `document.getElementById("renewed").textContent`); !strings.Contains(text,
		"Gone: mild. You hear mix now.") {
		t.Errorf("it says %q", text)
	}
	if n := ask[int](b, `document.querySelectorAll("#sources button").length`); n != 3 {
		t.Errorf("%d sources", n)
	}
	b.Quiet()
}

// A trial whose files are rendered again ends with a word on why, and the page goes on with the new files.
func TestInABrowserATrialEndsWithAWord(t *testing.T) {
	inALongRun(t)
	s := serve(t)
	b := open(t, s)
	b.key("n")
	ask[bool](b,
		`document.querySelector("[value=preference]").click(); document.querySelector("#compared input[value='0']").click(); document.querySelector("#compared input[value='2']").click();
		document.getElementById("trials").value = "4"; document.getElementById("form").requestSubmit(); true`)
	b.await(`!document.getElementById("trial").hidden`)
	b.key(" ")
	b.await(`document.getElementById("play").textContent === "Pause"`)
	b.key("2")
	ask[bool](b, `document.querySelector("#answers [data-answer]").click(); true`)
	b.await(`document.getElementById("trialhead").textContent === "Trial 2 of 4"`)
	s.again(changed)
	b.await(`!document.getElementById("result").hidden && !document.getElementById("renewed").hidden`)
	b.shot("stopped")
	if text := ask[string](b, `document.getElementById("found").innerText`); !strings.Contains(text,
		"Stopped after 1 answer, because deep was rendered again: this says nothing.") {
		t.Errorf("it says %q", text)
	}
	if ask[bool](b,
		`!document.getElementById("trial").hidden || document.getElementById("play").textContent !== "Play"`) {
		t.Error("the trial goes on, or the playback")
	}
	all, _ := trial.Read(s.folder)
	if len(all) != 1 || all[0].Stopped != "deep was rendered again" {
		t.Errorf("%+v", all)
	}
	b.Quiet()
}
