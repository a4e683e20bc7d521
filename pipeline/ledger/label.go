package ledger

import "github.com/charmbracelet/x/ansi"

// nameLeast is how much of a track's name stays before a version's is
// shortened too, in columns: "01 ..." and a letter.
const nameLeast = 7

// LabelWithin is Label in at most so many columns, without what could steer a
// terminal. The track's name is shortened before the version's, because renders
// of one track differ only in the latter.
func LabelWithin(track, version string, width int) string {
	label := clean(Label(track, version))
	over := ansi.StringWidth(label) - width
	if over <= 0 || version == "" {
		return shorten(label, width)
	}
	name, version := clean(track), clean(version)
	room := max(ansi.StringWidth(name)-over, min(nameLeast, ansi.StringWidth(name)))
	name = shorten(name, room)
	const around = " ()"
	return shorten(Label(name, shorten(version, width-ansi.StringWidth(name)-len(around))), width)
}
