# The ten slowest tests of the output of go test -json, each with its seconds; of a test with
# parts, the parts are told too. A test that waits for a processor counts that as its own.
match($0, /"Action":"(pass|fail)"/) && match($0, /"Test":"[^"]*"/) {
	test = substr($0, RSTART + 8, RLENGTH - 9)
	match($0, /"Package":"[^"]*"/)
	pkg = substr($0, RSTART + 11, RLENGTH - 12)
	match($0, /"Elapsed":[0-9.e+-]*/)
	printf "%8.2f s  %s %s\n", substr($0, RSTART + 10, RLENGTH - 10), pkg, test | "sort -rn | head -n 10"
}
