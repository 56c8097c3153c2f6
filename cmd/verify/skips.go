package main

import "strings"

// allowedSkips are the tests that may skip, by full name, each with its
// reason. Anything else that skips fails its stage: a check that quietly
// stopped checking is worse than none.
var allowedSkips = map[string]string{}

// skipRule says why a skip is all right, or returns "".
func skipRule(s skippedTest, allowed map[string]string, withoutOutside bool) string {
	if why := allowed[s.name]; why != "" {
		return why
	}
	if withoutOutside && strings.Contains(s.reason, withoutOutsideVar) {
		return "outside check, left out"
	}
	return ""
}
