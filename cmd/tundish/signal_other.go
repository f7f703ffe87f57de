//go:build !unix

package main

func ignoreFileSizeSignal() {}
