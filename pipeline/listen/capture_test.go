package listen_test

import "testing"

// capture plays all sources of track 0 through the page's own player into an OfflineAudioContext, and
// switches while it plays. It returns what came out as runs: so many frames of one source, from a frame on,
// told by their values, which are the source's own to the bit at a gain of 1.
const capture = `(async () => {
	const base = location.pathname, track = await (await fetch(base + "track/1/0")).json();
	const B = track.block, S = track.sources.length, blocks = 8, size = 2 * B * S, rate = track.rate_hz;
	const ring = new SharedArrayBuffer(blocks * size * 4), view = new Float32Array(ring);
	for (let b = 0; b < blocks; b++) view.set(new Float32Array(await (await fetch(base + "block/1/0/" + b)).arrayBuffer()), b * size);
	const length = 2 * rate, c = new OfflineAudioContext(2, length, rate);
	await c.audioWorklet.addModule(base + "player.js");
	const loop = LOOP;
	const node = new AudioWorkletNode(c, "player", { numberOfInputs: 0, outputChannelCount: [2],
		processorOptions: { ring, block: B, frames: track.frames, channels: 2, sources: S, pos: 0, source: 0, loop, playing: true, gain: 1 } });
	node.connect(c.destination);
	for (let b = 0; b < blocks; b++) node.port.postMessage({ block: b, slot: b });
	await new Promise(r => setTimeout(r, 100));
	const order = [1, 2, 3, 0, 2, 1, 3, 0, 1, 0];
	order.forEach((source, i) => c.suspend(.3 + .15 * i).then(async () => { node.port.postMessage({ source }); await new Promise(r => setTimeout(r, 30)); c.resume(); }));
	const out = await c.startRendering(), x = [out.getChannelData(0), out.getChannelData(1)];
	const at = (k, ch, n) => view[Math.floor(n / B) * size + (2 * k + ch) * B + n % B];
	const place = i => { if (!loop || i < loop[1]) return i; return loop[0] + (i - loop[1]) % (loop[1] - loop[0]); };
	const runs = [];
	let mixed = 0;
	for (let i = Math.round(.25 * rate); i < length; i++) { // the gain has settled
		const n = place(i), k = [0, 1, 2, 3].find(k => x[0][i] === at(k, 0, n) && x[1][i] === at(k, 1, n));
		if (k === undefined) { mixed++; continue; }
		const last = runs.at(-1);
		if (last && last.k === k) { last.to = i; last.n++; } else runs.push({ k, from: i, to: i, n: 1 });
	}
	return { runs, mixed, order };
})()`

type captured struct {
	Runs  []struct{ K, From, To, N int }
	Mixed int
	Order []int
}

// Switching shifts nothing: what comes out at frame n is frame n of one source or another, bit for bit, but
// for the fades.
func TestInABrowserSwitchingIsAlignedToTheSample(t *testing.T) {
	inALongRun(t)
	b := open(t, serve(t))
	c := ask[captured](b, replaced(capture, "LOOP", "null"))
	checkRuns(t, c, 0)
	b.Quiet()
}

// A loop of a third of a second has its period to the sample, and stays aligned while sources are switched.
func TestInABrowserLoopsAreExact(t *testing.T) {
	inALongRun(t)
	b := open(t, serve(t))
	c := ask[captured](b, replaced(capture, "LOOP", "[7000, 21000]"))
	checkRuns(t, c, (2*rate-21000)/14000+1)
	b.Quiet()
}

const fadeFrames = 353 // 8 ms at 44.1 kHz

func checkRuns(t *testing.T, c captured, jumps int) {
	t.Helper()
	var order []int
	for _, r := range c.Runs {
		if n := len(order); n == 0 || order[n-1] != r.K {
			order = append(order, r.K)
		}
	}
	if want := append([]int{0}, c.Order...); !equal(order, want) {
		t.Errorf("heard %v, switched to %v", order, want)
	}
	// A fade's first frame is all of the old and its last nearly the new: values may agree by chance within one.
	if most := (len(c.Order) + jumps) * fadeFrames; c.Mixed > most || c.Mixed < len(c.Order)*fadeFrames/2 {
		t.Errorf("%d frames are of no one source, where fades have %d at most", c.Mixed, most)
	}
}
