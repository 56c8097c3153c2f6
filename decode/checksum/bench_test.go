package checksum

import (
	"math/rand/v2"
	"strconv"
	"testing"
)

// go test ./decode/checksum -run ^$ -bench Compute -benchmem
func BenchmarkCompute(b *testing.B) {
	for _, text := range []string{
		"sum8", "sum8-carry-ones-complement", "xor8", "fletcher16",
		"crc8 poly=0x07 init=0x00 refin=false refout=false xorout=0x00",
		"crc8 poly=0x31 init=0x00 refin=true refout=true xorout=0x00",
		"crc16 poly=0x1021 init=0xFFFF refin=false refout=false xorout=0x0000",
		"crc16 poly=0x8005 init=0xFFFF refin=true refout=true xorout=0x0000",
	} {
		sum, err := Parse(text)
		if err != nil {
			b.Fatal(err)
		}
		name := text
		if c, ok := sum.(*CRC); ok {
			name = c.name
		}
		for _, size := range []int{12, 1024} {
			b.Run("sum="+name+"/octets="+strconv.Itoa(size), func(b *testing.B) {
				data := make([]byte, size)
				b.SetBytes(int64(size))
				b.ReportAllocs()
				for b.Loop() {
					sum.Compute(data)
				}
			})
		}
	}
}

// go test ./decode/checksum -run ^$ -bench Search -benchmem
func BenchmarkSearch(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 2))
	e, err := Lookup("CRC-16/MODBUS")
	if err != nil {
		b.Fatal(err)
	}
	for _, n := range []int{8, 64} {
		in := frames(rng, n, 12, Spec{Sum: e.Sum(), To: -2, At: -2, Order: Little}, false)
		b.Run("frames="+strconv.Itoa(n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if len(Search(in).Fits) != 1 {
					b.Fatal("not found")
				}
			}
		})
	}
}

// go test ./decode/checksum -run ^$ -bench Verify -benchmem
func BenchmarkVerify(b *testing.B) {
	spec := Spec{Sum: simple{kind: sum8}, To: -1, At: -1}
	frame := make([]byte, 12)
	b.SetBytes(int64(len(frame)))
	b.ReportAllocs()
	for b.Loop() {
		spec.Verify(frame)
	}
}
