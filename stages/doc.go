// Package stages holds the steps a track goes through and the small interface
// they share.
//
// Samples are float64 and planar, with -1..+1 as full scale. A level in dBFS
// is 20 log10 of a sample's magnitude, so that full scale is 0 dBFS. A stage
// knows neither files nor tracks: it is fed blocks of any length and hands on
// as many frames as it was fed, in the same order, so that frame n out is
// frame n in and no caller has to know a latency. A stage that changes the rate
// hands on the frames of the same moments: frame n at a rate is the moment n/rate.
package stages
