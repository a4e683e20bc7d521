# What the tests that failed said, and packages that could not be tested, from the output of go test -json.
function text(line) {
	if (!match(line, /"Output":".*"}$/)) return ""
	line = substr(line, RSTART + 10, RLENGTH - 12)
	gsub(/\\u003e/, ">", line); gsub(/\\u003c/, "<", line); gsub(/\\u0026/, "\\&", line)
	gsub(/\\t/, "\t", line); gsub(/\\n/, "\n", line); gsub(/\\"/, "\"", line); gsub(/\\\\/, "\\", line)
	return line
}
function key(line,   p, t) {
	match(line, /"(Package|ImportPath)":"[^"]*"/); p = substr(line, RSTART, RLENGTH); sub(/^[^:]*:/, "", p)
	sub(/ \[[^]]*\]"$/, "\"", p)
	t = ""
	if (match(line, /"Test":"[^"]*"/)) t = substr(line, RSTART, RLENGTH)
	return p " " t
}
/"Action":"(output|build-output)"/ { said[key($0)] = said[key($0)] text($0) }
/"Action":"fail"/ { printf "%s", said[key($0)] }
/"Action":"build-fail"/ { printf "%s", said[key($0)] }
!/^\{/ { print }
