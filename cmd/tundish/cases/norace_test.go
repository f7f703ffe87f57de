//go:build !race

package cases

const racing = false
