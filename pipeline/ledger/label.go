package ledger

import "github.com/charmbracelet/x/ansi"

// nameLeast is how much of a track's name stays before a variant's name is
// shortened too, in columns: "01 ..." and a letter.
const nameLeast = 7

// LabelWithin is Label in at most so many columns, without what could steer a
// terminal. The track's name is shortened before the variant's, because renders
// of one track differ only in the latter.
func LabelWithin(track, variant string, width int) string {
	label := clean(Label(track, variant))
	over := ansi.StringWidth(label) - width
	if over <= 0 || variant == "" {
		return shorten(label, width)
	}
	name, variant := clean(track), clean(variant)
	room := max(ansi.StringWidth(name)-over, min(nameLeast, ansi.StringWidth(name)))
	name = shorten(name, room)
	const around = " ()"
	return shorten(Label(name, shorten(variant, width-ansi.StringWidth(name)-len(around))), width)
}
