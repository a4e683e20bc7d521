package ledger

import (
	"path"
	"slices"
	"strings"
)

// SumsName is the file of sums in the folder of a delivery that asks for it.
const SumsName = "SHA256SUMS"

// Sums is the text of a delivery's file of sums, as sha256sum (GNU coreutils) makes and checks it: a line for
// each of its files, by name. It is empty of a delivery of which nothing is recorded.
func (l *Ledger) Sums(delivery string) string {
	var outputs []Output
	for i := range l.Tracks {
		if t := &l.Tracks[i]; t.Delivery == delivery {
			outputs = append(outputs, t.Output)
		}
	}
	slices.SortFunc(outputs, func(a, b Output) int { return strings.Compare(a.File, b.File) })
	var text strings.Builder
	for _, o := range outputs {
		text.WriteString(sumsLine(path.Base(o.File), o.SHA256))
	}
	return text.String()
}

// sumsLine is a line of such a file. A name with a backslash or a line's end is escaped, and the line begins
// with a backslash.
func sumsLine(name, sha string) string {
	escaped := strings.NewReplacer(`\`, `\\`, "\n", `\n`, "\r", `\r`).Replace(name)
	if escaped != name {
		sha = `\` + sha
	}
	return sha + "  " + escaped + "\n"
}
