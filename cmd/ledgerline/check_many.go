package main

import (
	"bufio"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"runtime"
	"slices"
	"strconv"
	"sync"

	"ledgerline/pipeline"
	"ledgerline/pipeline/ledger"
	"ledgerline/pipeline/release"
)

// releaseRow is one of several releases: what it has and lacks.
type releaseRow struct {
	release               string // as it was given
	tracks, stale, failed int    // all; those with something to render; those of which something cannot be
	leftOver              int    // files
	stalePapers           bool   // a text that goes out with a delivery is to be written
	err                   error  // why it cannot be told, or the first of what cannot be rendered; nil: nothing
	errs                  []error
}

// rowColumns are the columns of the rows, in CSV by these names.
var rowColumns = []string{"release", "tracks", "stale", "failed", "left_over", "error"}

// cells are the row's texts.
func (r *releaseRow) cells() []string {
	text := ""
	if r.err != nil {
		text = inOneLine(r.err)
	}
	n := strconv.Itoa
	return []string{r.release, n(r.tracks), n(r.stale), n(r.failed), n(r.leftOver), text}
}

// inOneLine is an error in one line: of several mistakes the first, and how many more there are.
func inOneLine(err error) string {
	var problems release.Problems
	if !errors.As(err, &problems) {
		return told(err)
	}
	text := problems[0].String()
	if more := len(problems) - 1; more > 0 {
		text += " (and " + many(more, "more mistake") + ")"
	}
	return text
}

// rowOf reads the release at a path and counts what it lacks.
func rowOf(ctx context.Context, path string) *releaseRow {
	row := &releaseRow{release: path}
	rel, err := release.Load(releaseIn(path))
	if err != nil {
		row.err, row.errs = err, []error{err}
		return row
	}
	forecast, err := pipeline.Forecast(ctx, rel, pipeline.Options{Tool: tool, Jobs: 1, Brief: true})
	if err != nil {
		row.err, row.errs = err, []error{err}
		return row
	}
	p, errs := newPlan(rel, forecast)
	for i, result := range forecast.Results {
		if result.State == pipeline.Failed {
			errs = append(errs, result.Err)
		}
		p.Tracks[i].Blocked = p.Tracks[i].Blocked || result.State == pipeline.Failed ||
			p.Tracks[i].Source.Error != ""
	}
	row.count(p)
	row.stalePapers = slices.ContainsFunc(p.Papers, func(x pipeline.Paper) bool { return x.Stale })
	if row.errs = errs; len(errs) > 0 {
		row.err = errs[0]
	}
	return row
}

// count counts the tracks of a plan. One of which something cannot be rendered is not stale besides.
func (r *releaseRow) count(p *plan) {
	stale, failed := map[string]bool{}, map[string]bool{}
	for i, t := range p.Tracks {
		if i == 0 || t.Name != p.Tracks[i-1].Name {
			r.tracks++
		}
		switch {
		case t.Blocked:
			failed[t.Name] = true
		case t.Stale:
			stale[t.Name] = true
		}
	}
	for name := range failed {
		delete(stale, name)
	}
	r.stale, r.failed, r.leftOver = len(stale), len(failed), p.LeftOver.Files+p.LeftOver.Altered
}

// checkMany prints a row for each release, in their order.
func (v *checkVerb) checkMany(ctx context.Context, s *streams, paths []string) error {
	var errs []error
	stale := false
	write, done := v.rowWriter(s.out)
	for row := range rows(ctx, paths) {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err := write(row); err != nil {
			return err
		}
		errs = append(errs, row.errs...)
		stale = stale || row.stale > 0 || row.stalePapers
	}
	if err := done(); err != nil {
		return err
	}
	if err := failed(errs...); err != nil {
		return err
	}
	return v.verdict(stale)
}

// rows are the rows of the releases in their order; several are looked at in one another's time.
func rows(ctx context.Context, paths []string) func(yield func(*releaseRow) bool) {
	return func(yield func(*releaseRow) bool) {
		ctx, stop := context.WithCancel(ctx)
		defer stop()
		ready := make([]chan *releaseRow, len(paths))
		for i := range ready {
			ready[i] = make(chan *releaseRow, 1)
		}
		next := make(chan int)
		var g sync.WaitGroup
		defer g.Wait()
		for range min(runtime.GOMAXPROCS(0), len(paths)) {
			g.Go(func() {
				for i := range next {
					ready[i] <- rowOf(ctx, paths[i])
				}
			})
		}
		g.Go(func() {
			defer close(next)
			for i := range paths {
				select {
				case next <- i:
				case <-ctx.Done():
					return
				}
			}
		})
		for i := range paths {
			select {
			case row := <-ready[i]:
				if !yield(row) {
					stop()
					return
				}
			case <-ctx.Done():
				return
			}
		}
	}
}

// rowWriter is what writes a row, and what is called after the last one.
func (v *checkVerb) rowWriter(out io.Writer) (write func(*releaseRow) error, done func() error) {
	if v.CSV {
		w := csv.NewWriter(out)
		_ = w.Write(rowColumns) // an error stays and is told of by Error
		return func(r *releaseRow) error {
			_ = w.Write(r.cells())
			w.Flush() // whoever reads sees it at once
			return w.Error()
		}, func() error { w.Flush(); return w.Error() }
	}
	table := ledger.Table{
		Columns: []ledger.Column{{Left: true}, {Gap: 2}, {Gap: 2}, {Gap: 2}, {Gap: 2}, {Gap: 2, Left: true}},
	}
	table.Rows = append(table.Rows, []string{"release", "tracks", "stale", "failed", "left over", ""})
	return func(r *releaseRow) error {
		table.Rows = append(table.Rows, r.cells())
		return nil
	}, func() error { return ledger.Printer{Out: out}.Table(0, table) }
}

// names are the arguments, and in the place of "-" the lines of the input that are not empty.
func names(args []string, in io.Reader) ([]string, error) {
	var all []string
	for _, a := range args {
		if a != "-" {
			all = append(all, a)
			continue
		}
		lines := bufio.NewScanner(in)
		for lines.Scan() {
			if lines.Text() != "" {
				all = append(all, lines.Text())
			}
		}
		if err := lines.Err(); err != nil {
			return nil, fmt.Errorf("reading names of releases: %w", err)
		}
	}
	return all, nil
}
