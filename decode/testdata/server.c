/* A Modbus RTU server on libmodbus: server PORT SPEED UNIT. Its inputs and registers change with every request. */
#include <errno.h>
#include <modbus/modbus.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

enum { COUNT = 200 };

int main(int argc, char **argv)
{
    uint8_t query[MODBUS_RTU_MAX_ADU_LENGTH];
    uint32_t x = 1;

    if (argc != 4) {
        fprintf(stderr, "usage: server PORT SPEED UNIT\n");
        return 2;
    }
    modbus_t *m = modbus_new_rtu(argv[1], atoi(argv[2]), 'N', 8, 1);
    modbus_mapping_t *map = modbus_mapping_new(COUNT, COUNT, COUNT, COUNT);
    if (m == NULL || map == NULL || modbus_set_slave(m, atoi(argv[3])) != 0 || modbus_connect(m) != 0) {
        fprintf(stderr, "server: %s\n", modbus_strerror(errno));
        return 1;
    }
    puts("ready");
    fflush(stdout);
    for (;;) {
        for (int i = 0; i < COUNT; i++) {
            x = x * 1664525u + 1013904223u;
            map->tab_input_bits[i] = x >> 31;
            map->tab_input_registers[i] = x >> 16;
            if (i >= 100) {
                map->tab_bits[i] = x >> 30 & 1;
                map->tab_registers[i] = x >> 12;
            }
        }
        int n = modbus_receive(m, query);
        if (n > 0 && modbus_reply(m, query, n, map) < 0)
            fprintf(stderr, "server: reply: %s\n", modbus_strerror(errno));
        if (n < 0 && (errno == EIO || errno == EBADF || errno == ECONNRESET))
            return 0; /* the port is gone */
    }
}
