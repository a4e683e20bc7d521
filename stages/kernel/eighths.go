package kernel

// Eighths are the taps for the values between u[5] and u[6] of twelve values of a
// signal: Even[i][p] and Odd[i][p] are for u[5-i] + u[6+i] and u[5-i] - u[6+i]. Their
// sums over i, added, are the value p+1 eighths after u[5], and the difference is the
// one as far before u[6]. Odd[i][3] is not used.
type Eighths struct{ Even, Odd [6][4]float64 }

// MayPass has bit h set for each of eight neighbouring pairs of values, u[5+h] and
// u[6+h], where the largest magnitude of the pair and of the seven values between, and
// an eighth of the largest step from one of the nine to the next, are more than the
// limit. It panics if u is shorter than 19.
func (e *Eighths) MayPass(u []float64, limit float64) uint8 {
	return mayPass((*[19]float64)(u), e, limit)
}
