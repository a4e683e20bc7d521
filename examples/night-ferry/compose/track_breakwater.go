package main

// breakwater is the second track, out past the wall into the swell: 176 beats
// a minute in D minor, a bar for each of four chords, everything playing and
// everything driven, then one blow on the first chord, cut short.
func breakwater() bus {
	const length = 6.0
	k := kit{random: 202}
	g := grid{start: 0.04, step: 60.0 / 176 / 4}

	drums := newBus(length)
	drums.beat(g, seat{0, 0}, `X... ..X. X... .... X... ..X. X.X. ....
	                           X... ..X. X... .... X... ..X. X.X. ..X. X`, k.kick)
	drums.beat(g, seat{0.05, 2}, `.... X... .... X... .... X... .... X..o
	                              .... X... .... X... .... X... x.xx XxXX X`, k.snare)
	drums.beat(g, seat{0.4, -11}, `X.x. X.x. X.x. X.x. X.x. X.x. X.x. X.x.
	                               X.x. X.x. X.x. X.x. X.x. X.x. X.x. X.x.`, k.shut)
	drums.beat(g, seat{-0.35, -14}, `X... .... .... .... .... .... .... ....
	                                 X... .... .... .... .... .... .... .... X`, k.crash)
	drums.drive(1)

	low := newBus(length)
	low.line(g, seat{0, 0}, `D2 - D2 - D2 - D2 - D2 - D2 - D2 - F2 -
	                         Bb1 - Bb1 - Bb1 - Bb1 - Bb1 - Bb1 - Bb1 - C2 -
	                         F1 - F1 - F1 - F1 - F1 - F1 - F1 - A1 -
	                         C2 - C2 - C2 - C2 - C2 - C2 - C2 - C#2 -
	                         D2 - - -`, bass)
	low.drive(4)

	chords := newBus(length)
	left := ensemble{corner: 5200, rise: 0.004, fall: 0.03, detune: 0.0016, offset: -0.0021}
	right := ensemble{corner: 4700, rise: 0.004, fall: 0.03, detune: 0.0019, offset: 0.0018}
	for n, notes := range []string{"D3 A3 D4 F4", "Bb2 F3 D4 F4", "F3 A3 C4 F4", "C3 G3 C4 E4", "D3 A3 D4 F4"} {
		at, held := g.time(16*n), g.time(16)-g.start
		chords.chord(at, held, spread{-0.9, -0.6, -5}, notes, left.note)
		chords.chord(at, held, spread{0.9, 0.6, -5}, notes, right.note)
	}
	chords.drive(6)
	chords.line(g, seat{-0.2, -8}, `. . . . A4 - D5 - - - E5 - F5 - - -
	                                D5 - - - . . F5 - - - E5 - D5 - C5 -
	                                A4 - - - . . C5 - - - D5 - F5 - - -
	                                G5 - - - F5 - E5 - - - C5 - E5 - - -`, left.note)

	send := newBus(length)
	send.mix(drums, -10)
	send.mix(chords, -10)

	mix := newBus(length)
	mix.mix(drums, 0)
	mix.mix(low, -8)
	mix.mix(chords, -10)
	mix.mix(send.room(0.9), -3)
	mix.drive(-1)
	return mix
}
