// Package judge compares what chains of stages remove from programme, at equal loudness and equal ceiling: by
// the reading of package ear, by a second model of masking that shares nothing with it, and by a look at the
// bass, which both hear too coarsely. They are models; none of them is a listening test. Tests and the proof
// use it.
package judge
