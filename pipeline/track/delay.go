package track

import "ledgerline/stages"

// A delay has what a stretch of the chain was fed wait until that is handed on. Unlike driven it tells of the
// frames part by part, and those that need not wait are not copied: they are read where they lie.
type delay struct {
	gains          []float64    // as in driven
	ring           stages.Block // what waits
	first, waiting int          // frames of it, which go on at the ring's start

	in         stages.Block // what was fed last
	past       int          // frames of it that wait or have had their turn
	at, frames int          // of those whose turn it is: told of, and all
	part       stages.Block
}

// feed takes what the stretch was fed, which next may tell of until feed is called again, and how many frames
// it handed on because of it.
func (d *delay) feed(in stages.Block, frames int) {
	d.in, d.past, d.at, d.frames = in, 0, 0, frames
	if len(d.gains) > 0 {
		d.wait()
	}
}

// next is the driven input of the next frames that were handed on, and which is the first of them. The last
// call finds none left.
func (d *delay) next() (part stages.Block, from int, ok bool) {
	from = d.at
	left := d.frames - from
	if left == 0 {
		d.wait()
		return nil, from, false
	}
	of, at, n := d.in, d.past, left
	if d.waiting > 0 {
		of, at = d.ring, d.first
		n = min(left, d.waiting, d.ring.Frames()-d.first)
		d.first, d.waiting = (d.first+n)%d.ring.Frames(), d.waiting-n
	} else {
		d.past += n
	}
	d.at += n
	d.part = window(d.part, of, int64(at), int64(at+n))
	return d.part, from, true
}

// wait has the frames wait whose turn has not come.
func (d *delay) wait() {
	n := d.in.Frames() - d.past
	d.fit(d.waiting + n)
	for n > 0 {
		size := d.ring.Frames()
		at := (d.first + d.waiting) % size
		k := min(n, size-at)
		for c, x := range d.in {
			to := d.ring[c][at : at+k]
			copy(to, x[d.past:])
			for _, g := range d.gains {
				scale(to, g)
			}
		}
		d.past, d.waiting, n = d.past+k, d.waiting+k, n-k
	}
}

// fit makes room for so many frames.
func (d *delay) fit(frames int) {
	size := d.ring.Frames()
	if frames <= size {
		return
	}
	larger := stages.NewBlock(len(d.in), max(frames, 2*size))
	for c, x := range d.ring {
		n := copy(larger[c], x[d.first:min(size, d.first+d.waiting)])
		copy(larger[c][n:d.waiting], x)
	}
	d.ring, d.first = larger, 0
}
