package page

import (
	"fmt"
	"html"
	"html/template"
	"math"
	"strconv"
	"strings"
)

// A drawing is a picture in the making. Text is escaped, and numbers have one decimal at most.
type drawing struct{ text strings.Builder }

// draw begins a picture of that size with a name and a description, which are read to whoever does not see
// it. The id is one that no other on the page has. Fit is what its width and height do to it: "" keeps its
// shape, "none" does not.
func draw(id, title, description string, width, height float64, fit string) *drawing {
	d := &drawing{}
	d.add(`<svg viewBox="0 0 %s %s" role="img" aria-labelledby="%s %s-d"`, number(width), number(height), id, id)
	if fit != "" {
		d.add(` preserveAspectRatio="%s"`, fit)
	}
	d.add(`><title id="%s">%s</title><desc id="%s-d">%s</desc>`, id, html.EscapeString(title), id,
		html.EscapeString(description))
	return d
}

// add adds text as it is.
func (d *drawing) add(format string, a ...any) { fmt.Fprintf(&d.text, format, a...) }

func (d *drawing) line(class string, x1, y1, x2, y2 float64) {
	d.add(`<path class="%s" d="M%s %sL%s %s"/>`, class, number(x1), number(y1), number(x2), number(y2))
}

func (d *drawing) rect(class string, x, y, width, height float64) {
	d.add(`<path class="%s" d="M%s %sh%sv%sh%sz"/>`, class, number(x), number(y), number(width), number(height),
		number(-width))
}

func (d *drawing) path(class, steps string) { d.add(`<path class="%s" d="%s"/>`, class, steps) }

func (d *drawing) ring(class string, x, y, radius float64) {
	d.add(`<circle class="%s" cx="%s" cy="%s" r="%s"/>`, class, number(x), number(y), number(radius))
}

func (d *drawing) word(class string, x, y float64, t string) {
	d.add(`<text class="%s" x="%s" y="%s">%s</text>`, class, number(x), number(y), html.EscapeString(t))
}

// done is the picture.
func (d *drawing) done() template.HTML { return template.HTML(d.text.String() + "</svg>") }

// number is a coordinate.
func number(x float64) string {
	if x = math.Round(x*10) / 10; x == 0 {
		return "0"
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

// An axis turns values into places.
type axis struct{ least, most, from, to float64 }

func (a axis) at(v float64) float64 {
	return a.from + float64((v-a.least)/(a.most-a.least)*(a.to-a.from))
}

// within is at, of the nearest value on the axis.
func (a axis) within(v float64) float64 { return a.at(min(max(v, a.least), a.most)) }

// percent is a place in percent of the way, for a style.
func (a axis) percent(v float64) template.CSS {
	return template.CSS(strconv.FormatFloat(math.Round(1e4*(v-a.least)/(a.most-a.least))/100, 'f', -1, 64) + "%")
}

// ticks are round values from least to most, about n of them.
func ticks(least, most float64, n int) []float64 {
	if !(most > least) {
		return nil
	}
	step := roundStep((most - least) / float64(n))
	var all []float64
	for k := math.Ceil(least/step - 1e-9); k*step <= most+1e-9; k++ {
		all = append(all, k*step)
	}
	return all
}

// roundStep is the least of 1, 2 and 5 times a power of ten that is no less than x.
func roundStep(x float64) float64 {
	unit := 1.0
	for unit > x {
		unit /= 10
	}
	for 10*unit < x {
		unit *= 10
	}
	for _, by := range []float64{1, 2, 5} {
		if float64(by*unit) >= x {
			return by * unit
		}
	}
	return 10 * unit
}

// timeStep is a round number of seconds of which there are at most n in a time.
func timeStep(seconds float64, n int) float64 {
	for _, step := range []float64{0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1200} {
		if seconds/step <= float64(n) {
			return step
		}
	}
	return 3600
}
