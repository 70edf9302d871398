/* A pad and a foot switch as devices: events through a FIFO, by the same code as from the kernel;
 * coming, going and coming back. */
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#include "keypad/device.h"
#include "stream.h"

struct bench {
    char folder[64], pad[96], foot[96];
};

static int set_up(void **state)
{
    static struct bench bench;
    snprintf(bench.folder, sizeof bench.folder, "/tmp/midthrow-device-XXXXXX");
    assert_non_null(mkdtemp(bench.folder));
    snprintf(bench.pad, sizeof bench.pad, "%s/pad", bench.folder);
    snprintf(bench.foot, sizeof bench.foot, "%s/foot", bench.folder);
    *state = &bench;
    return 0;
}

static int tear_down(void **state)
{
    struct bench *bench = *state;
    unlink(bench->pad);
    unlink(bench->foot);
    return rmdir(bench->folder);
}

static struct keypad_device *opened(const struct keypad_device_config *config)
{
    struct fault fault = {0};
    struct keypad_device *device = keypad_device_create(config, &fault);
    if (device == NULL)
        fail_msg("%s", fault.sentence);
    return device;
}

static void send(int fd, const struct stream *stream)
{
    size_t size = stream->n * sizeof stream->event[0];
    assert_true(write(fd, stream->event, size) == (ssize_t)size);
}

/* Waits as the station does. Whatever is typed until nothing more comes for a while. */
static const char *keys_of(struct keypad_device *device)
{
    static char keys[256];
    size_t n = 0;
    struct pollfd ready = {.fd = keypad_device_fd(device), .events = POLLIN};
    while (poll(&ready, 1, 50) > 0)
        while (n < sizeof keys - 1 && keypad_device_key(device, &keys[n]))
            n++;
    keys[n] = '\0';
    return keys;
}

static struct stream typed(const char *keys)
{
    struct stream stream = {.at_ms = 1};
    stream_type(&stream, keys);
    return stream;
}

static void a_recorded_stream_types(void **state)
{
    struct bench *bench = *state;
    assert_int_equal(mkfifo(bench->pad, 0600), 0);
    struct keypad_device *device = opened(&(struct keypad_device_config){.pad = bench->pad});
    int fd = open(bench->pad, O_WRONLY);
    static struct stream stream;
    stream = typed("5/16\n");
    send(fd, &stream);
    char key;
    assert_true(keypad_device_key(device, &key));
    assert_int_equal(key, '5');
    /* what was not taken is still announced: an answer may end in the middle of what is there */
    struct pollfd ready = {.fd = keypad_device_fd(device), .events = POLLIN};
    assert_int_equal(poll(&ready, 1, 0), 1);
    assert_string_equal(keys_of(device), "/16\r");
    assert_int_equal(poll(&ready, 1, 0), 0);
    close(fd);
    keypad_device_destroy(device);
}

static void an_unplugged_pad_comes_back(void **state)
{
    struct bench *bench = *state;
    struct keypad_device_status status;
    struct keypad_device *device = opened(&(struct keypad_device_config){.pad = bench->pad});
    keypad_device_status(device, &status);
    assert_true(status.pad.wanted && !status.pad.present && !status.foot.wanted);
    assert_non_null(strstr(status.pad.why, "plug it in"));
    assert_int_equal(mkfifo(bench->pad, 0600), 0);
    struct pollfd later = {.fd = keypad_device_fd(device), .events = POLLIN};
    assert_int_equal(poll(&later, 1, 3000), 1); /* it looks again within a second */
    assert_string_equal(keys_of(device), "");
    keypad_device_status(device, &status);
    assert_true(status.pad.present);
    assert_string_equal(status.pad.why, "");

    int fd = open(bench->pad, O_WRONLY);
    static struct stream stream;
    stream = typed("12");
    send(fd, &stream);
    assert_string_equal(keys_of(device), "12");
    unlink(bench->pad);
    close(fd);
    assert_string_equal(keys_of(device), "");
    keypad_device_status(device, &status);
    assert_false(status.pad.present);
    assert_int_equal(mkfifo(bench->pad, 0600), 0);
    assert_int_equal(poll(&later, 1, 3000), 1);
    assert_string_equal(keys_of(device), "");
    fd = open(bench->pad, O_WRONLY);
    stream = typed("3\n");
    send(fd, &stream);
    assert_string_equal(keys_of(device), "3\r");
    close(fd);
    keypad_device_destroy(device);
}

static void foot_and_pad_work_side_by_side(void **state)
{
    struct bench *bench = *state;
    assert_int_equal(mkfifo(bench->pad, 0600), 0);
    assert_int_equal(mkfifo(bench->foot, 0600), 0);
    struct keypad_device *device =
        opened(&(struct keypad_device_config){.pad = bench->pad, .foot = bench->foot});
    int pad = open(bench->pad, O_WRONLY), foot = open(bench->foot, O_WRONLY);
    static struct stream stream;
    stream = typed("7.9*");
    send(pad, &stream);
    assert_string_equal(keys_of(device), "7.9*");
    memset(&stream, 0, sizeof stream);
    stream_tap(&stream, KEY_B);
    send(foot, &stream);
    assert_string_equal(keys_of(device), "\r");
    close(pad);
    close(foot);
    keypad_device_destroy(device);
}

static void the_talk_key_is_let_go_by_an_unplug(void **state)
{
    struct bench *bench = *state;
    assert_int_equal(mkfifo(bench->foot, 0600), 0);
    struct keypad_device *device =
        opened(&(struct keypad_device_config){.foot = bench->foot, .foot_talks = true});
    int foot = open(bench->foot, O_WRONLY);
    static struct stream stream;
    memset(&stream, 0, sizeof stream);
    stream_key(&stream, KEY_B, 1);
    send(foot, &stream);
    assert_string_equal(keys_of(device), "");
    assert_true(keypad_device_talks(device));
    close(foot);
    assert_string_equal(keys_of(device), "");
    assert_false(keypad_device_talks(device));
    keypad_device_destroy(device);
}

static void what_is_no_device_is_said_to_be_none(void **state)
{
    struct bench *bench = *state;
    FILE *file = fopen(bench->pad, "w");
    assert_non_null(file);
    fputs("words\n", file);
    fclose(file);
    struct keypad_device_status status;
    struct keypad_device *device = opened(&(struct keypad_device_config){.pad = bench->pad});
    keypad_device_status(device, &status);
    assert_false(status.pad.present);
    assert_non_null(strstr(status.pad.why, "is no input device"));
    assert_string_equal(keys_of(device), "");
    keypad_device_destroy(device);

    device = opened(&(struct keypad_device_config){.pad = "no such pad", .folder = bench->folder});
    keypad_device_status(device, &status);
    assert_non_null(strstr(status.pad.why, "'no such pad'"));
    keypad_device_destroy(device);
    struct keypad_found found[4];
    assert_int_equal(keypad_device_list(bench->folder, found, 4), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_recorded_stream_types, set_up, tear_down),
        cmocka_unit_test_setup_teardown(an_unplugged_pad_comes_back, set_up, tear_down),
        cmocka_unit_test_setup_teardown(foot_and_pad_work_side_by_side, set_up, tear_down),
        cmocka_unit_test_setup_teardown(the_talk_key_is_let_go_by_an_unplug, set_up, tear_down),
        cmocka_unit_test_setup_teardown(what_is_no_device_is_said_to_be_none, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
