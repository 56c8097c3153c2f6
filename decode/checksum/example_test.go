package checksum_test

import (
	"fmt"

	"linewitness/decode/checksum"
)

func ExampleSpec_Verify() {
	sum, err := checksum.Parse("sum8")
	if err != nil {
		panic(err)
	}
	// A short frame of IEC 60870-5-1 format class FT1.2: start 10, two octets, their sum, end 16.
	spec := checksum.Spec{Sum: sum, From: 1, To: -2, At: -2}
	ok, want, got, _ := spec.Verify([]byte{0x10, 0x40, 0x01, 0x40, 0x16})
	fmt.Printf("%t: want %02X, got %02X\n", ok, want, got)
	// Output: false: want 41, got 40
}
