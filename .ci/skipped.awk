# The tests that were skipped, of the output of go test -json. There must be none but the one that root cannot do.
/"Action":"skip"/ && match($0, /"Test":"[^"]*"/) {
	test = substr($0, RSTART + 8, RLENGTH - 9)
	if (test != "TestFolderThatCannotBeRead") {
		print "skipped: " test
		failed = 1
	}
}
END { exit failed }
