package main

// quay is the first track, the boat still at the wall: 92 beats a minute with a
// little swing, A minor going round over four chords, and a last chord that is
// left to ring and fades with the water.
func quay() bus {
	const length = 6.0
	k := kit{random: 101}
	g := grid{start: 0.12, step: 60.0 / 92 / 4, swing: 0.16}

	drums := newBus(length)
	drums.beat(g, seat{0, 0}, "X..o ..x. ..X. .... X.o. ..x. .X.. ..o. X", k.kick)
	drums.beat(g, seat{-0.1, -2}, ".... X... .... X..o .... X... .... X.ox", k.snare)
	drums.beat(g, seat{0.45, -9}, "x.xo x.xo x.xo x.x. x.xo x.xo x.xo x.x.", k.shut)
	drums.beat(g, seat{0.45, -12}, ".... .... .... ...x .... .... .... ...x", k.open)

	low := newBus(length)
	low.line(g, seat{0, -9}, `A1 - - - . . A1 -  F1 - - - . . F1 G1
	                          C2 - - - . . C2 -  G1 - - - . B1 G1 -
	                          A1 - - - -`, bass)

	chords := newBus(length)
	for n, notes := range []string{"G3 B3 C4 E4", "A3 C4 E4 G4", "G3 B3 D4 E4", "F3 A3 B3 D4"} {
		chords.chord(g.time(8*n), g.time(6)-g.start, spread{-0.8, 0.8, -14}, notes, keys)
		chords.chord(g.time(8*n+6), g.time(1)-g.start, spread{0.8, -0.8, -17}, notes, keys)
	}
	chords.chord(g.time(32), 0.8, spread{-0.9, 0.9, -12}, "G3 B3 C4 E4 B4", keys)
	chords.line(g, seat{0.25, -13}, `. . . . E5 - D5 B4  C5 - - - . . A4 -
	                                 . . . . G4 - B4 D5  E5 - - . D5 - B4 -`, keys)

	send := newBus(length)
	send.mix(drums, -12)
	send.mix(chords, -3)

	mix := newBus(length)
	mix.mix(drums, 0)
	mix.mix(low, 0)
	mix.mix(chords, 0)
	mix.mix(send.room(1.3), -4)
	mix.add(0, k.surf(length), seat{-0.5, -19})
	mix.add(0, k.surf(length), seat{0.5, -19})
	return mix
}
