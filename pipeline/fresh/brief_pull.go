package fresh

import "ledgerline/pipeline/ledger"

// pull takes the line of an entry apart, as encoding/json would.
func (x *briefEntry) pull(p *puller) {
	p.object(func(name []byte) {
		switch string(name) {
		case "name":
			x.Name = p.string()
		case "variant":
			x.Variant = p.string()
		case "delivery":
			x.Delivery = p.string()
		case "continuous":
			p.list(func() { x.Continuous = append(x.Continuous, pullJoined(p)) })
		case "source":
			pullSource(p, &x.Source)
		case "output":
			pullOutput(p, &x.Output)
		case "removed":
			x.Removed = pullExtra(p)
		case "matched":
			x.Matched = pullExtra(p)
		case "along_sha256":
			x.Along = p.string()
		case "recipe_sha256":
			x.Recipe = p.string()
		case "peak":
			x.Peak = p.figure()
		case "nonfinite":
			x.NonFinite = p.integer()
		case "first_nonfinite":
			x.FirstNonFinite = p.figure()
		case "row":
			pullRow(p, &x.Row)
		default:
			p.fail()
		}
	})
}

func pullJoined(p *puller) (j ledger.Joined) {
	p.object(func(name []byte) {
		switch string(name) {
		case "track":
			j.Track = p.string()
		case "sha256":
			j.SHA256 = p.string()
		default:
			p.fail()
		}
	})
	return j
}

func pullSource(p *puller, s *ledger.Source) {
	p.object(func(name []byte) {
		switch string(name) {
		case "file":
			s.File = p.string()
		case "sha256":
			s.SHA256 = p.string()
		case "encoding":
			s.Encoding = p.string()
		case "rate_hz":
			s.RateHz = int(p.integer())
		case "channels":
			s.Channels = int(p.integer())
		case "frames":
			s.Frames = p.integer()
		case "duration_s":
			s.DurationS = p.number()
		default:
			p.fail()
		}
	})
}

func pullOutput(p *puller, o *ledger.Output) {
	p.object(func(name []byte) {
		switch string(name) {
		case "file":
			o.File = p.string()
		case "sha256":
			o.SHA256 = p.string()
		case "encoding":
			o.Encoding = p.string()
		case "limited_samples":
			o.LimitedSamples = p.integer()
		case "frames":
			o.Frames = p.integer()
		case "disc_frames":
			o.DiscFrames = p.truth()
		case "padded_frames":
			o.PaddedFrames = p.integer()
		case "lead_frames":
			o.LeadFrames = p.integer()
		default:
			p.fail()
		}
	})
}

func pullExtra(p *puller) *ledger.Extra {
	x := &ledger.Extra{}
	p.object(func(name []byte) {
		switch string(name) {
		case "file":
			x.File = p.string()
		case "sha256":
			x.SHA256 = p.string()
		case "gain_db":
			x.GainDB = p.number()
		default:
			p.fail()
		}
	})
	return x
}

func pullRow(p *puller, r *ledger.Row) {
	p.object(func(name []byte) {
		switch string(name) {
		case "drive":
			r.Drive = p.figure()
		case "loudness":
			r.Loudness = p.figure()
		case "true_peak":
			r.TruePeak = p.figure()
		case "net":
			r.Net = p.figure()
		case "true_net":
			r.TrueNet = p.figure()
		case "removed":
			r.Removed = p.figure()
		case "worst_400ms":
			r.Worst400ms = p.figure()
		case "noise_to_mask":
			r.NoiseToMask = p.figure()
		case "disturbed":
			r.Disturbed = p.figure()
		case "ceiling":
			r.Ceiling = p.figure()
		case "short":
			r.Short = map[string]*float64{}
			p.object(func(meter []byte) { r.Short[string(meter)] = p.figure() })
		case "idle":
			r.Idle = p.truth()
		case "clamped":
			r.Clamped = p.integer()
		case "overs":
			r.Overs = p.integer()
		case "nonfinite":
			r.NonFinite = p.integer()
		case "requirements":
			r.Requirements = int(p.integer())
		case "failed":
			p.list(func() { r.Failed = append(r.Failed, pullRequirement(p)) })
		case "clipped":
			p.list(func() { r.Clipped = append(r.Clipped, pullClipped(p)) })
		default:
			p.fail()
		}
	})
}

func pullRequirement(p *puller) (r ledger.Requirement) {
	p.object(func(name []byte) {
		switch string(name) {
		case "stage":
			r.Stage = p.string()
		case "key":
			r.Key = p.string()
		case "wanted":
			r.Wanted = p.number()
		case "found":
			r.Found = p.figure()
		case "passed":
			r.Passed = p.truth()
		default:
			p.fail()
		}
	})
	return r
}

func pullClipped(p *puller) (c ledger.Clipped) {
	p.object(func(name []byte) {
		switch string(name) {
		case "stage":
			c.Stage = p.string()
		case "kind":
			c.Kind = p.string()
		case "percent":
			c.Percent = p.number()
		default:
			p.fail()
		}
	})
	return c
}
