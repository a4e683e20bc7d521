// Chain is a peer to measure Ledgerline against: the whole job of the release
// file beside it, composed from general-purpose C libraries, on one thread.
//
//	chain IN.wav OUT.wav [maxima]
//
// It is made of
//   - libsndfile, which reads and writes the files;
//   - libsoxr, which goes to four times the rate and back for the oversampled
//     clip, by its best recipe (very high quality, linear phase) in double precision;
//   - libebur128, which measures loudness, loudness range, sample peak and true
//     peak at all six boundaries, and keeps what momentary and short-term
//     loudness need;
//   - plain loops for gain, clips and dither, which the compiler vectorises where it can.
//
// Build it, make a track to measure on, and time both, in the folder of go.mod. Take the
// medians of several runs in turn; %U + %S is the processor time, s.

//
//	gcc -O3 -march=native testdata/peer/chain.c -o /tmp/chain -lsndfile -lsoxr -lebur128 -lm
//	go build -o /tmp/ledgerline ./cmd/ledgerline
//	mkdir -p /tmp/peer/mixes && cp testdata/peer/release.toml /tmp/peer/
//	go run ./testdata/peer/song /tmp/peer/mixes/song.wav 60 -3.6
//	/usr/bin/time -f '%U %S %e %M' /tmp/chain /tmp/peer/mixes/song.wav /tmp/peer/chain.wav
//	/usr/bin/time -f '%U %S %e %M' /tmp/ledgerline render --force --jobs 1 /tmp/peer/release.toml
//	/usr/bin/time -f '%U %S %e %M' /tmp/ledgerline render --force --jobs 2 /tmp/peer/release.toml
//
// That is a song at usual loudness: with the gain of the release 2.2 % of its samples are beyond the ceiling of the oversampled
// clip. One that is as loud as the loudest masters, with 28 %:
//
//	mkdir -p /tmp/loud/mixes && cp testdata/peer/loud.toml /tmp/loud/
//	go run ./testdata/peer/song /tmp/loud/mixes/song.wav 60
//	/tmp/ledgerline render /tmp/loud/loud.toml && cp /tmp/loud/loud/song.wav /tmp/peer/mixes/
//
// The release as it is measures what can be heard and draws a page, which the peer does not. Without both, and with the
// default hold, which keeps the true peak:
//
//	printf '\n[audibility]\nmeasure = false\n' >> /tmp/peer/release.toml
//	sed -i 's/^encoding.*/&\npage = false/' /tmp/peer/release.toml
//	sed -i '/^peak /d; /^method /d' /tmp/peer/release.toml
//
// In Debian the libraries are libsndfile1-dev, libsoxr-dev and libebur128-dev.
//
// What is not equal. The peer does less:
//   - its oversampled clip has no correction at the corners of what is clipped, so that
//     it aliases more, and it filters the whole signal rather than the excess, so that
//     nothing passes bit for bit; its passband ends at 0.911 of half the rate;
//   - its hold keeps the samples within the ceiling and knows no other peak, which is
//     all that the release file asks for;
//   - it has no ledger: nothing says where a peak or the overs are, how deep a stage cut or what it
//     removed, what RMS, crest factor and DC offset are; no file is hashed, and none is
//     made safe on the disk before it appears;
//   - without the word maxima it does not look for the largest momentary and short-term
//     loudness, which takes libebur128 a sum over the last 0.4 s and 3 s, ten
//     times a second and boundary;
//   - its true peak is that of libebur128's interpolator of 49 taps.
//
// Its dither is as wide, from another generator, and so the two masters differ in their lowest bits.

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <ebur128.h>
#include <sndfile.h>
#include <soxr.h>

// The settings are those of release.toml.
static const double gain_db = 6, hard_clip_dbfs = -4.4, oversampled_clip_dbfs = -6, hold_dbfs = -6;

enum {
	factor = 4,
	bits = 24,
	block = 4096,          // frames read at once
	held = 4 * block,      // and handed on at most: a resampler may release what it has held back
	boundaries = 6,
	channels_max = 2,
};

static const double codes = 1 << (bits - 1); // in a full scale

static void fail(const char *what, const char *why)
{
	fprintf(stderr, "chain: error: %s: %s\n", what, why);
	exit(1);
}

static double linear(double db) { return pow(10, db / 20); }
static double decibels(double x) { return 20 * log10(x); }

// A boundary is a point between two stages, where the signal is read.
struct boundary {
	ebur128_state *state;
	size_t tenth, left; // frames in a tenth of a second, and to the end of this one; 0: no maxima
	double momentary, short_term;
};

static void boundary_open(struct boundary *b, const SF_INFO *info, int maxima)
{
	int mode = EBUR128_MODE_I | EBUR128_MODE_LRA | EBUR128_MODE_M | EBUR128_MODE_S |
	           EBUR128_MODE_SAMPLE_PEAK | EBUR128_MODE_TRUE_PEAK;
	b->state = ebur128_init(info->channels, info->samplerate, mode);
	if (!b->state)
		fail("libebur128", "no meter");
	b->tenth = b->left = maxima ? info->samplerate / 10 : 0;
	b->momentary = b->short_term = -HUGE_VAL;
}

static void boundary_add(struct boundary *b, const double *x, size_t frames)
{
	if (ebur128_add_frames_double(b->state, x, frames) != EBUR128_SUCCESS)
		fail("libebur128", "frames not taken");
}

// boundary_read measures the frames of x.
static void boundary_read(struct boundary *b, const double *x, size_t frames)
{
	double v;
	while (b->tenth && frames >= b->left) {
		boundary_add(b, x, b->left);
		x += b->left * b->state->channels;
		frames -= b->left;
		b->left = b->tenth;
		ebur128_loudness_momentary(b->state, &v);
		b->momentary = fmax(b->momentary, v);
		ebur128_loudness_shortterm(b->state, &v);
		b->short_term = fmax(b->short_term, v);
	}
	if (frames)
		boundary_add(b, x, frames);
	if (b->tenth)
		b->left -= frames;
}

static void boundary_print(const struct boundary *b, const char *name)
{
	double integrated, range, v, sample_peak = 0, true_peak = 0;
	ebur128_loudness_global(b->state, &integrated);
	ebur128_loudness_range(b->state, &range);
	for (unsigned c = 0; c < b->state->channels; c++) {
		ebur128_sample_peak(b->state, c, &v);
		sample_peak = fmax(sample_peak, v);
		ebur128_true_peak(b->state, c, &v);
		true_peak = fmax(true_peak, v);
	}
	printf("%-16s %8.2f dBFS %8.2f dBTP %8.2f LUFS %6.2f LU", name,
	       decibels(sample_peak), decibels(true_peak), integrated, range);
	if (b->tenth)
		printf("  momentary %6.2f  short-term %6.2f LUFS", b->momentary, b->short_term);
	putchar('\n');
}

// The stages work in place on n interleaved samples.

static void gain(double *x, size_t n, double by)
{
	for (size_t i = 0; i < n; i++)
		x[i] *= by;
}

static void clip(double *x, size_t n, double ceiling)
{
	for (size_t i = 0; i < n; i++) {
		double v = x[i] > ceiling ? ceiling : x[i];
		x[i] = v < -ceiling ? -ceiling : v;
	}
}

// dither leaves whole codes in x, and in code what libsndfile writes of them: an
// integer whose highest bits are taken. The noise is the difference of two uniform
// values, halves of a word of Marsaglia's xorshift generator (J. Stat. Software 8(14), 2003).
static void dither(double *x, int *code, size_t n)
{
	static uint64_t word = 88172645463325252;
	for (size_t i = 0; i < n; i++) {
		word ^= word << 13;
		word ^= word >> 7;
		word ^= word << 17;
		double noise = ((int64_t)(word >> 32) - (int64_t)(uint32_t)word) * 0x1p-32;
		double v = rint(x[i] * codes + noise);
		v = v > codes - 1 ? codes - 1 : v < -codes ? -codes : v;
		code[i] = (int)v * (1 << (32 - bits));
		x[i] = v / codes;
	}
}

// A chain is everything from one file to the other.
struct chain {
	SNDFILE *in, *out;
	size_t channels;
	struct boundary at[boundaries];
	soxr_t up, down;
	double *x, *wide, *y; // as read, at factor times the rate, and back
	int *code;
};

static soxr_t resampler(double from, double to, unsigned channels)
{
	soxr_error_t error;
	soxr_io_spec_t samples = soxr_io_spec(SOXR_FLOAT64_I, SOXR_FLOAT64_I);
	soxr_quality_spec_t quality = soxr_quality_spec(SOXR_VHQ, 0);
	soxr_runtime_spec_t one_thread = soxr_runtime_spec(1);
	soxr_t r = soxr_create(from, to, channels, &error, &samples, &quality, &one_thread);
	if (error)
		fail("libsoxr", error);
	return r;
}

// resample hands n frames of in to r, or its end if in is null, and returns how many came out.
static size_t resample(soxr_t r, const double *in, size_t n, double *out, size_t room)
{
	size_t done;
	soxr_error_t error = soxr_process(r, in, n, NULL, out, room, &done);
	if (error)
		fail("libsoxr", error);
	return done;
}

static void *memory(size_t n, size_t size)
{
	void *p = calloc(n, size);
	if (!p)
		fail("memory", "there is none left");
	return p;
}

static void chain_open(struct chain *k, const char *from, const char *to, int maxima)
{
	SF_INFO info = {0};
	k->in = sf_open(from, SFM_READ, &info);
	if (!k->in)
		fail(from, sf_strerror(NULL));
	if (info.channels > channels_max)
		fail(from, "more than two channels");
	k->channels = info.channels;
	for (int i = 0; i < boundaries; i++)
		boundary_open(&k->at[i], &info, maxima);
	info.format = SF_FORMAT_WAV | SF_FORMAT_PCM_24;
	k->out = sf_open(to, SFM_WRITE, &info);
	if (!k->out)
		fail(to, sf_strerror(NULL));
	k->up = resampler(1, factor, k->channels);
	k->down = resampler(factor, 1, k->channels);
	k->x = memory(block * k->channels, sizeof *k->x);
	k->wide = memory(held * factor * k->channels, sizeof *k->wide);
	k->y = memory(held * k->channels, sizeof *k->y);
	k->code = memory(held * k->channels, sizeof *k->code);
}

// before reads a block and does what precedes the oversampled clip; it returns its frames.
static size_t before(struct chain *k)
{
	size_t frames = sf_readf_double(k->in, k->x, block), n = frames * k->channels;
	boundary_read(&k->at[0], k->x, frames);
	gain(k->x, n, linear(gain_db));
	boundary_read(&k->at[1], k->x, frames);
	clip(k->x, n, linear(hard_clip_dbfs));
	boundary_read(&k->at[2], k->x, frames);
	return frames;
}

// after does what follows the oversampled clip, and writes.
static void after(struct chain *k, size_t frames)
{
	size_t n = frames * k->channels;
	boundary_read(&k->at[3], k->y, frames);
	clip(k->y, n, linear(hold_dbfs));
	boundary_read(&k->at[4], k->y, frames);
	dither(k->y, k->code, n);
	boundary_read(&k->at[5], k->y, frames);
	if (sf_writef_int(k->out, k->code, frames) != (sf_count_t)frames)
		fail("write", sf_strerror(k->out));
}

// chain_run takes the whole track through and returns its frames.
static size_t chain_run(struct chain *k)
{
	size_t total = 0, frames, wide, back;
	do {
		frames = before(k);
		wide = resample(k->up, frames ? k->x : NULL, frames, k->wide, held * factor);
		clip(k->wide, wide * k->channels, linear(oversampled_clip_dbfs));
		back = resample(k->down, frames || wide ? k->wide : NULL, wide, k->y, held);
		after(k, back);
		total += back;
	} while (frames || wide || back);
	return total;
}

static void chain_close(struct chain *k)
{
	if (sf_close(k->out))
		fail("write", "the file could not be finished");
	sf_close(k->in);
	soxr_delete(k->up);
	soxr_delete(k->down);
	for (int i = 0; i < boundaries; i++)
		ebur128_destroy(&k->at[i].state);
	free(k->x);
	free(k->wide);
	free(k->y);
	free(k->code);
}

int main(int argc, char **argv)
{
	static const char *const names[boundaries] = {
		"source", "gain", "hard_clip", "oversampled_clip", "ceiling_hold", "dither",
	};
	struct chain k;
	int maxima = argc == 4 && strcmp(argv[3], "maxima") == 0;
	if (argc != 3 + maxima) {
		fprintf(stderr, "usage: chain IN.wav OUT.wav [maxima]\n");
		return 2;
	}
	chain_open(&k, argv[1], argv[2], maxima);
	size_t frames = chain_run(&k);
	for (int i = 0; i < boundaries; i++)
		boundary_print(&k.at[i], names[i]);
	printf("%zu frames\n", frames);
	chain_close(&k);
	return 0;
}
