package stages

import (
	"encoding/json"
	"slices"
	"strconv"
	"strings"
)

// A WordList is the value of a List setting: words in the order of its key's Words, with a comma and a blank
// between them. So two of them can be compared like any other value of a setting. In JSON it is a list.
type WordList string

// NewWordList is the list of these words, none of which has a comma.
func NewWordList(words []string) WordList { return WordList(strings.Join(words, ", ")) }

// Words are the words of the list.
func (l WordList) Words() []string {
	if l == "" {
		return nil
	}
	return strings.Split(string(l), ", ")
}

// Has reports whether a word is in the list.
func (l WordList) Has(word string) bool { return slices.Contains(l.Words(), word) }

// MarshalJSON makes a list of it.
func (l WordList) MarshalJSON() ([]byte, error) {
	return json.Marshal(append([]string{}, l.Words()...))
}

// String is the list as it is told of: [exact, bs1770].
func (l WordList) String() string { return "[" + string(l) + "]" }

// GoString is the list as a release file has it: ["exact", "bs1770"].
func (l WordList) GoString() string {
	words := l.Words()
	for i, w := range words {
		words[i] = strconv.Quote(w)
	}
	return "[" + strings.Join(words, ", ") + "]"
}
