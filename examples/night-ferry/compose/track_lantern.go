package main

// lantern is the third track, open water and one light: 80 beats a minute in
// three, E minor, bells a long way apart over strings that come up out of
// nothing. A blow at the second bar, a heavier one at the third, and then only
// what the room keeps.
func lantern() bus {
	const length = 6.5
	k := kit{random: 303}
	g := grid{start: 0.15, step: 60.0 / 80 / 2}

	bells := newBus(length)
	bells.line(g, seat{-0.4, -3}, "B4 . . . G5 .  . F#5 . . . .  E5", k.bells(0.6))
	bells.line(g, seat{0.5, -4}, ".  . E5 . . .  D6 . . B5 . .  B5", k.bells(0.5))

	drums := newBus(length)
	drums.beat(g, seat{0, 0}, "...... X....o X", k.kick)
	drums.beat(g, seat{-0.25, -3}, "...... x..... X", k.tom(hz("E2")))
	drums.beat(g, seat{0.2, -3}, "....o. ...o.. X", k.snare)
	drums.beat(g, seat{0.6, -9}, "o...o. o.o.x.", k.shut)
	drums.drive(6)

	air := newBus(length)
	pad := ensemble{corner: 1100, rise: 1.2, fall: 1.4, detune: 0.0011}
	air.chord(0, 3, spread{-0.9, 0.9, -8}, "E2 B2 F#3 G3 D4", pad.note)
	air.chord(g.time(6)-0.6, 3, spread{-0.9, 0.9, -7}, "C2 G2 E3 B3 F#4", pad.note)
	air.chord(g.time(12)-0.1, 1.8, spread{-0.9, 0.9, -8}, "E2 B2 G3 B3 E4", pad.note)

	send := newBus(length)
	send.mix(bells, -4)
	send.mix(drums, -8)
	send.mix(air, -8)

	mix := newBus(length)
	mix.mix(bells, 0)
	mix.mix(drums, 0)
	mix.mix(air, 0)
	mix.mix(send.room(2.2), -5)
	mix.add(0, k.surf(length), seat{-0.7, -18})
	mix.add(0, k.surf(length), seat{0.7, -18})
	return mix
}
