// Verify is the project's one test command:
//
//	go run ./cmd/verify
//
// It installs the outside programs that tests need, where it may, runs every
// check in stages and stops at the first that fails. Cheap stages all run, so
// that one call shows every badly formatted file and every vet finding at
// once. A table of stages and times stands above the last stage, a plain
// go test, whose own lines close the output.
//
// Usage:
//
//	go run ./cmd/verify [--without-outside-checks] [--long] [--stage NAME[,NAME]]
//	go run ./cmd/verify --list
//
// A skipped test is a failed one, except for those in [allowedSkips] and,
// with --without-outside-checks, those that name
// LINEWITNESS_WITHOUT_OUTSIDE_CHECKS as their reason.
//
// Exit status: 0 all stages passed, 1 one failed, 2 wrong use,
// 130 interrupted. Through go run the last two come out as 1.
//
// The program imports nothing of this module, so that it still builds when
// the rest does not. Its tests hold the table of rooms, the list of who may
// import whom.
package main
