package jobsheet

// Tree reads TOML into plain maps, with the line of each key by its path: "plant.fuel", "source[0].points.28-…". What is
// wrong comes back as [Errors]: text that is no TOML, and keys that stand twice. Other files of a job are read by it too.
func Tree(file string, text []byte) (tree map[string]any, at map[string]int, err error) {
	return parse(file, text)
}

// LineOf is the line of a key, or of the table that would hold it; 0 where none is known.
func LineOf(at map[string]int, path string) int { return lines(at).of(path) }

// Describe says what a TOML value is, for an error: "a table", "\"text\"".
func Describe(v any) string { return describe(v) }

// Text takes a text of one line without control characters.
func Text(v any) (string, error) { return asText(v) }
