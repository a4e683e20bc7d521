package fresh

import (
	"bytes"
	"encoding/json"
	"strconv"
)

// A puller takes JSON apart value by value, in the order of its text: where there are thousands of entries,
// several times as fast as encoding/json. It is for files that this package has written itself, and does
// not find every mistake. From the first thing that is not as asked for on everything is zero, and failed
// is true.
type puller struct {
	text   []byte
	at     int
	failed bool
}

// fail ends it all.
func (p *puller) fail() { p.failed, p.at = true, len(p.text) }

// next is the next byte that is no space, which stays there; 0 at the end.
func (p *puller) next() byte {
	for ; p.at < len(p.text); p.at++ {
		switch c := p.text[p.at]; c {
		case ' ', '\n', '\t', '\r':
		default:
			return c
		}
	}
	return 0
}

// take takes a byte that must be next.
func (p *puller) take(c byte) {
	if p.next() != c {
		p.fail()
		return
	}
	p.at++
}

// null takes a null, if it is next.
func (p *puller) null() bool {
	if p.next() != 'n' {
		return false
	}
	p.word("null")
	return true
}

func (p *puller) word(w string) {
	if !bytes.HasPrefix(p.text[p.at:], []byte(w)) {
		p.fail()
		return
	}
	p.at += len(w)
}

// object takes an object: value is called with each name and must take what it has.
func (p *puller) object(value func(name []byte)) {
	p.items('{', '}', func() {
		name := p.quoted()
		p.take(':')
		value(name)
	})
}

// list takes a list: item is called for each item and must take it. A null is a list without any.
func (p *puller) list(item func()) {
	if !p.null() {
		p.items('[', ']', item)
	}
}

func (p *puller) items(begin, end byte, item func()) {
	p.take(begin)
	if !p.failed && p.next() == end {
		p.at++
		return
	}
	for !p.failed {
		item()
		if p.next() == end {
			p.at++
			return
		}
		p.take(',')
	}
}

// string takes a string.
func (p *puller) string() string { return string(p.quoted()) }

// quoted is a string's text, to be kept only as long as the puller's.
func (p *puller) quoted() []byte {
	p.take('"')
	rest := p.text[p.at:]
	n := bytes.IndexByte(rest, '"')
	if p.failed || n < 0 {
		p.fail()
		return nil
	}
	if bytes.IndexByte(rest[:n], '\\') < 0 {
		p.at += n + 1
		return rest[:n]
	}
	for n = 0; n < len(rest) && rest[n] != '"'; n++ {
		if rest[n] == '\\' {
			n++
		}
	}
	var s string
	if n >= len(rest) || json.Unmarshal(p.text[p.at-1:p.at+n+1], &s) != nil {
		p.fail()
		return nil
	}
	p.at += n + 1
	return []byte(s)
}

// digits is a number's text.
func (p *puller) digits() string {
	p.next()
	begin := p.at
	for p.at < len(p.text) && bytes.IndexByte([]byte("+-.0123456789Ee"), p.text[p.at]) >= 0 {
		p.at++
	}
	return string(p.text[begin:p.at])
}

// integer takes a number without a fraction.
func (p *puller) integer() int64 {
	n, err := strconv.ParseInt(p.digits(), 10, 64)
	if err != nil {
		p.fail()
		return 0
	}
	return n
}

// unsigned takes a number without a fraction or a sign.
func (p *puller) unsigned() uint64 {
	n, err := strconv.ParseUint(p.digits(), 10, 64)
	if err != nil {
		p.fail()
		return 0
	}
	return n
}

// number takes a number.
func (p *puller) number() float64 {
	x, err := strconv.ParseFloat(p.digits(), 64)
	if err != nil {
		p.fail()
		return 0
	}
	return x
}

// figure takes a number or a null.
func (p *puller) figure() *float64 {
	if p.null() {
		return nil
	}
	x := p.number()
	return &x
}

// truth takes a true or a false.
func (p *puller) truth() bool {
	if p.next() == 't' {
		p.word("true")
		return true
	}
	p.word("false")
	return false
}

// skip takes any value.
func (p *puller) skip() {
	switch p.next() {
	case '{':
		p.object(func([]byte) { p.skip() })
	case '[':
		p.list(p.skip)
	case '"':
		p.quoted()
	case 't', 'f':
		p.truth()
	case 'n':
		p.word("null")
	default:
		p.number()
	}
}

// ended says whether all of the text has been taken, and was as asked for.
func (p *puller) ended() bool { return p.next() == 0 && !p.failed }
