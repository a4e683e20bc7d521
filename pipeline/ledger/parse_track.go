package ledger

import "encoding/json"

// ParseTrack reads one entry of a ledger from its JSON, as Parse reads those of
// a whole one. It refuses what is not JSON and what contradicts itself.
func ParseTrack(text []byte) (*Track, error) {
	t := &Track{}
	if err := json.Unmarshal(text, t); err != nil {
		return nil, err
	}
	if err := t.check(); err != nil {
		return nil, err
	}
	return t, nil
}
