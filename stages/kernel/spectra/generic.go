package spectra

//choose:asm2 &toRe[0], &toIm[0], &fromRe[0], &fromIm[0], &w[0], w.Len()
func firstGeneric(toRe, toIm, fromRe, fromIm []float64, w Turns) {
	m := w.Len()
	ra, rb, rc, rd := fromRe[:m], fromRe[m:][:m], fromRe[2*m:][:m], fromRe[3*m:][:m]
	ia, ib, ic, id := fromIm[:m], fromIm[m:][:m], fromIm[2*m:][:m], fromIm[3*m:][:m]
	w1, v1, w2, v2, w3, v3 := w[:m], w[m:][:m], w[2*m:][:m], w[3*m:][:m], w[4*m:][:m], w[5*m:][:m]
	for p := range m {
		outRe, outIm := (*[4]float64)(toRe[4*p:]), (*[4]float64)(toIm[4*p:])
		sumRe, sumIm, difRe, difIm := ra[p]+rc[p], ia[p]+ic[p], ra[p]-rc[p], ia[p]-ic[p]
		oddRe, oddIm, curRe, curIm := rb[p]+rd[p], ib[p]+id[p], ib[p]-id[p], rd[p]-rb[p]
		outRe[0], outIm[0] = sumRe+oddRe, sumIm+oddIm
		outRe[1], outIm[1] = turned(difRe+curRe, difIm+curIm, w1[p], v1[p])
		outRe[2], outIm[2] = turned(sumRe-oddRe, sumIm-oddIm, w2[p], v2[p])
		outRe[3], outIm[3] = turned(difRe-curRe, difIm-curIm, w3[p], v3[p])
	}
}

//choose:asm2 &toRe[0], &toIm[0], &fromRe[0], &fromIm[0], &w[0], w.Len(), stride
func stridedGeneric(toRe, toIm, fromRe, fromIm []float64, w Turns, stride int) {
	turns := w.Len()
	m := turns * stride
	for p := range turns {
		w1, v1, w2, v2, w3, v3 := w[p], w[p+turns], w[p+2*turns], w[p+3*turns], w[p+4*turns], w[p+5*turns]
		in, out := p*stride, 4*p*stride
		ra, rb, rc, rd := fromRe[in:][:stride], fromRe[in+m:][:stride], fromRe[in+2*m:][:stride],
			fromRe[in+3*m:][:stride]
		ia, ib, ic, id := fromIm[in:][:stride], fromIm[in+m:][:stride], fromIm[in+2*m:][:stride],
			fromIm[in+3*m:][:stride]
		re0, re1, re2, re3 := toRe[out:][:stride], toRe[out+stride:][:stride], toRe[out+2*stride:][:stride],
			toRe[out+3*stride:][:stride]
		im0, im1, im2, im3 := toIm[out:][:stride], toIm[out+stride:][:stride], toIm[out+2*stride:][:stride],
			toIm[out+3*stride:][:stride]
		for q := range stride {
			sumRe, sumIm, difRe, difIm := ra[q]+rc[q], ia[q]+ic[q], ra[q]-rc[q], ia[q]-ic[q]
			oddRe, oddIm, curRe, curIm := rb[q]+rd[q], ib[q]+id[q], ib[q]-id[q], rd[q]-rb[q]
			re0[q], im0[q] = sumRe+oddRe, sumIm+oddIm
			re1[q], im1[q] = turned(difRe+curRe, difIm+curIm, w1, v1)
			re2[q], im2[q] = turned(sumRe-oddRe, sumIm-oddIm, w2, v2)
			re3[q], im3[q] = turned(difRe-curRe, difIm-curIm, w3, v3)
		}
	}
}

// turned is a complex product, no part of which is fused.
func turned(re, im, byRe, byIm float64) (float64, float64) {
	return float64(re*byRe) - float64(im*byIm), float64(re*byIm) + float64(im*byRe)
}

//choose:asm2 &r[0], &u[0], len(r), lanes
func riseGeneric(r, u []float64, lanes *[16]float64) {
	for ; len(r) > 0; r, u = r[4:], u[4:] {
		x, by := (*[4]float64)(r), (*[4]float64)(u)
		for i := range 4 {
			v, a := x[i], by[i]
			v = float64(v * a)
			lanes[i] += v
			v = float64(v * a)
			lanes[4+i] += v
			v = float64(v * a)
			lanes[8+i] += v
			v = float64(v * a)
			lanes[12+i] += v
			x[i] = v
		}
	}
}
