// Package portable has the elementary functions that tables, levels and loudness are made of. They give the
// same bits on every processor: the standard library's own have versions in assembly for some
// processors, and the compiler may fuse a product with a sum where a processor can. Here every product that
// goes into a sum is fused on purpose, by math.FMA, which is exact everywhere.
//
// Each result is within one unit in its last place of the true value, two for TanPi. Of what the standard
// library offers only functions that round exactly are used: Sqrt, FMA, Floor, Round, Mod, Frexp, Ldexp.
package portable
