package coder

import (
	"context"

	"ledgerline/pipeline/audiofile"
	"ledgerline/pipeline/release"
)

// Keep is Run, which also writes what came back of the delivery as a float32 WAV file: as long as the
// delivery, frame n at frame n. What came before the delivery and after it is left out, and what is missing
// is silence.
func (b *Bench) Keep(ctx context.Context, file string, c release.Coder, to string) (Found, error) {
	return b.placed(ctx, file, c, func(back string, f *Found) error {
		info, err := infoOf(file)
		if err != nil {
			return err
		}
		r, err := audiofile.Open(back)
		if err != nil {
			return err
		}
		defer r.Close()
		w, err := audiofile.Create(to, audiofile.Info{
			Rate: info.Rate, Channels: info.Channels, Frames: info.Frames,
			Encoding: audiofile.Float32, Mask: info.Mask,
		})
		if err != nil {
			return err
		}
		defer w.Abort()
		for at := int64(0); at < info.Frames; at += blockFrames {
			if err := ctx.Err(); err != nil {
				return err
			}
			block, err := stretch(r, at+f.DelayFrames, int(min(blockFrames, info.Frames-at)))
			if err != nil {
				return err
			}
			if err := w.Write(block); err != nil {
				return err
			}
		}
		return w.Commit()
	})
}
