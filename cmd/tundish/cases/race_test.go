//go:build race

package cases

// racing: under the race detector a simulated day costs some ten times as much.
const racing = true
