/* Reads telegrams in hexadecimal, one a line, and prints what libmbus makes of their records: an independent reading for
 * peer_test.go. */
#include <mbus/mbus.h>
#include <stdio.h>
#include <string.h>

int main(void)
{
    char line[2048];
    while (fgets(line, sizeof line, stdin))
    {
        unsigned char raw[512];
        size_t n = 0;
        unsigned int byte;
        while (n < sizeof raw && sscanf(line + 2 * n, "%2x", &byte) == 1)
            raw[n++] = byte;
        mbus_frame frame;
        mbus_frame_data data;
        memset(&frame, 0, sizeof frame);
        memset(&data, 0, sizeof data);
        if (mbus_parse(&frame, raw, n) != 0 || mbus_frame_data_parse(&frame, &data) != 0)
            printf("refused\n");
        else if (data.type == MBUS_DATA_TYPE_FIXED)
        {
            for (int i = 1; i <= 2; i++)
            {
                mbus_record *r = mbus_parse_fixed_record(data.data_fix.status,
                    i == 1 ? data.data_fix.cnt1_type : data.data_fix.cnt2_type,
                    i == 1 ? data.data_fix.cnt1_val : data.data_fix.cnt2_val);
                if (r)
                    printf("%ld|0|0|%s|%s|%.17g\n", r->storage_number, r->quantity, r->unit, r->value.real_val);
            }
        }
        else
            for (mbus_data_record *rec = data.data_var.record; rec; rec = rec->next)
            {
                mbus_record *r = mbus_parse_variable_record(rec);
                if (!r)
                    printf("nothing\n");
                else if (r->is_numeric)
                    printf("%ld|%ld|%d|%s|%s|%.17g\n", r->storage_number, r->tariff < 0 ? 0 : r->tariff, r->tariff < 0 ? 0 : r->device, r->quantity, r->unit, r->value.real_val);
                else
                    printf("%ld|%ld|%d|%s|%s|=%s\n", r->storage_number, r->tariff < 0 ? 0 : r->tariff, r->tariff < 0 ? 0 : r->device, r->quantity, r->unit, r->value.str_val.value);
                mbus_record_free(r);
            }
        printf("end %d\n", data.data_var.more_records_follow);
        mbus_data_record_free(data.data_var.record);
        fflush(stdout);
    }
    return 0;
}
