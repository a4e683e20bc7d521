package release

import "testing"

// FLAC has whole numbers only (RFC 9639, section 4).
func TestAContainerThatLacksTheEncoding(t *testing.T) {
	inHarbour(t)
	const want = `delivery "download": a flac file cannot hold float32; want "pcm16", "pcm24" or "pcm32"`
	wantProblems(t, delivering+"[[delivery]]\nname = \"download\"\ncontainer = \"flac\"\n"+
		"encoding = \"float32\"", "release.toml:17: "+want)
	wantProblems(t, delivering+"[output]\nencoding = \"float32\"\n[[delivery]]\nname = \"download\"\n"+
		"container = \"flac\"", "release.toml:16: "+want)
	mustLoad(t, delivering+"[[delivery]]\nname = \"download\"\ncontainer = \"flac\"\nencoding = \"pcm24\"")
}
