// A start-stop transmitter and its test bench for Icarus Verilog, settings as plusargs:
//
//   +vcd=FILE +sent=FILE  where the line and the characters sent go
//   +bit=NS               unit interval in nanoseconds, any fraction; kept to a picosecond
//   +data=5..9 +parity=N|E|O|M|S +stop=2..4 (half bits) +inverted=0|1
//   +frames=N +most=N     frames, and the longest in characters
//   +seed=N
//
// Frames stand 25 to 65 bits apart, at no whole number of bits. A line of the file of characters is a frame.
`timescale 1ns / 1ps

// transmitter shifts one character out, two clocks to a bit.
module transmitter (
    input  wire       clk,
    input  wire       load,
    input  wire [8:0] data,
    input  wire [3:0] width,
    input  wire [7:0] parity,
    input  wire [2:0] stop,
    output reg        q,
    output reg        busy
);
  reg [10:0] shift;
  reg [4:0] left;  // half bits of start, data and parity
  reg [2:0] tail;  // half bits of the stop element
  integer i;
  reg p;

  initial begin
    q = 1;
    busy = 0;
    left = 0;
    tail = 0;
  end

  always @(posedge clk)
    if (load && left == 0 && tail <= 1) begin
      p = parity == "O" || parity == "M";
      shift = 0;
      for (i = 0; i < width; i = i + 1) begin
        shift[i] = data[i];
        if (parity == "E" || parity == "O") p = p ^ data[i];
      end
      shift[width] = p;
      q <= 0;
      left <= 2 * (1 + width + (parity != "N")) - 1;
      tail <= stop;
      busy <= 1;
    end else if (left > 0) begin
      left <= left - 1;
      if (left[0] == 0) begin
        q <= shift[0];
        shift = shift >> 1;
      end
    end else if (tail > 0) begin
      q <= 1;
      tail <= tail - 1;
      busy <= tail > 1;
    end
endmodule

module bench;
  reg [8*512:1] vcd, sent;
  real bit_ns;
  integer width, stop, inverted, frames, most, seed, f, c, n, out;
  reg [7:0] parity;
  reg clk, load, running;
  reg [8:0] data;
  wire q, busy;
  wire line = q ^ inverted[0];

  transmitter tx (
      .clk(clk), .load(load), .data(data), .width(width[3:0]), .parity(parity), .stop(stop[2:0]), .q(q), .busy(busy)
  );

  initial begin
    if (!$value$plusargs("vcd=%s", vcd) || !$value$plusargs("sent=%s", sent) || !$value$plusargs("bit=%f", bit_ns) ||
        !$value$plusargs("data=%d", width) || !$value$plusargs("parity=%s", parity) || !$value$plusargs("stop=%d", stop) ||
        !$value$plusargs("inverted=%d", inverted) || !$value$plusargs("frames=%d", frames) ||
        !$value$plusargs("most=%d", most) || !$value$plusargs("seed=%d", seed)) begin
      $display("a setting is missing");
      $finish(2);
    end
    out = $fopen(sent, "w");
    $dumpfile(vcd);
    $dumpvars(0, line, data);
    clk = 0;
    load = 0;
    data = 0;
    #(30.3 * bit_ns);
    for (f = 0; f < frames; f = f + 1) begin
      n = 1 + $unsigned($random(seed)) % most;
      for (c = 0; c < n; c = c + 1) begin
        data = $random(seed) & ((1 << width) - 1);
        if (c > 0) $fwrite(out, " ");
        $fwrite(out, "%0d", data);
        load = 1;
        // The first half bit of the character, then the rest of it.
        #(bit_ns / 4) clk = 1;
        #(bit_ns / 4) clk = 0;
        load = 0;
        repeat (2 * (1 + width + (parity != "N")) + stop - 1) begin
          #(bit_ns / 4) clk = 1;
          #(bit_ns / 4) clk = 0;
        end
      end
      $fwrite(out, "\n");
      // One clock more ends the last stop element.
      #(bit_ns / 4) clk = 1;
      #(bit_ns / 4) clk = 0;
      #((25.0 + 40.0 * ($unsigned($random(seed)) % 1000) / 1000.0) * bit_ns);
    end
    #(200 * bit_ns);
    $fclose(out);
    $finish;
  end
endmodule
