// Package soxr binds libsoxr, a C library that changes sample rates, for tests
// that compare this program's interpolation with a reference that is not its
// own. It is empty without the build tag "reference", and nothing but tests
// imports it: the library is never linked into the product.
//
// The tag needs cgo, a C compiler and the library with its header and
// pkg-config file (Debian: libsoxr-dev).
package soxr
