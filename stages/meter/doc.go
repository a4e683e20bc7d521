// Package meter reads a signal: sample and true peak, loudness and its range,
// RMS, DC and overs. A meter eats blocks of any length and can be read at any
// time without disturbing it; block lengths change no figure.
package meter
