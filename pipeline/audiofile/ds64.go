package audiofile

import (
	"encoding/binary"
	"fmt"
	"io"
	"math"
)

// elsewhere in a 32-bit size field says that the size is in the ds64 chunk;
// in a plain RIFF file, that its writer did not know it.
const elsewhere = 0xFFFFFFFF

// unknownSize is the 64-bit counterpart of elsewhere.
const unknownSize = math.MaxInt64

// ds64Size is the size of a ds64 chunk's payload without a table: EBU Tech 3306, ITU-R BS.2088.
const ds64Size = 28

// maxTable bounds the rows of a ds64 table, one for each chunk beyond 4 GiB beside the data.
const maxTable = 64

// ds64 is the 64-bit sizes of an RF64 or BW64 file.
type ds64 struct {
	riff, data int64
	table      []tableRow
}

type tableRow struct {
	id   [4]byte
	size int64
}

// sizeOf is the size of a chunk whose 32-bit size field has no room for it.
func (d *ds64) sizeOf(c chunk) int64 {
	if c.is("data") {
		return d.data
	}
	for _, row := range d.table {
		if row.id == c.id {
			return row.size
		}
	}
	return elsewhere
}

// readDS64 reads the payload of the ds64 chunk c.
func readDS64(r io.ReaderAt, c chunk) (*ds64, error) {
	if c.size < ds64Size {
		return nil, c.fault(ErrCorrupt, "%d bytes, want %d or more", c.size, ds64Size)
	}
	le := binary.LittleEndian
	p := make([]byte, ds64Size+12*maxTable)
	p = p[:min(int64(len(p)), c.size)]
	if err := readAt(r, p, c.body); err != nil {
		return nil, err
	}
	rows := int64(le.Uint32(p[24:]))
	switch {
	case rows > (c.size-ds64Size)/12:
		return nil, c.fault(ErrCorrupt, "a table of %d rows in %d bytes", rows, c.size)
	case rows > maxTable:
		return nil, c.fault(ErrUnsupported, "a table of %d rows, want %d at most", rows, maxTable)
	}
	d := &ds64{riff: size64(le.Uint64(p)), data: size64(le.Uint64(p[8:]))}
	for p = p[ds64Size:]; rows > 0; rows-- {
		d.table = append(d.table, tableRow{[4]byte(p), size64(le.Uint64(p[4:]))})
		p = p[12:]
	}
	return d, nil
}

// size64 is a size as ds64 has it. What no file can have becomes the largest int64 but
// one; the largest stays for a size that its writer did not know.
func size64(n uint64) int64 {
	if n == math.MaxUint64 {
		return unknownSize
	}
	return int64(min(n, unknownSize-1))
}

// readAt fills p from offset at.
func readAt(r io.ReaderAt, p []byte, at int64) error {
	n, err := r.ReadAt(p, at)
	if n == len(p) {
		return nil
	}
	if err == nil || err == io.EOF {
		err = io.ErrUnexpectedEOF
	}
	return fmt.Errorf("at byte %d: %w", at, err)
}
