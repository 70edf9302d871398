/* Input events into the pad's characters. The events' form is the kernel's: Documentation/input/
 * event-codes.rst and linux/input-event-codes.h. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "base/text.h"
#include "keypad/keypad.h"
#include "keypad/stroke.h"
#include "stream.h"

static struct stream *fresh(void)
{
    static struct stream stream;
    memset(&stream, 0, sizeof stream);
    stream.at_ms = 1000;
    return &stream;
}

/* What the stream types: the entries, each followed by a bar, then what is not entered yet. */
static const char *typed(struct keypad_strokes *strokes, const struct stream *stream)
{
    static char out[512];
    struct text text = text_into(out, sizeof out);
    struct keypad_line line;
    keypad_line_init(&line);
    char key;
    for (size_t i = 0; i < stream->n; i++)
        if (keypad_stroke(strokes, &stream->event[i], &key) && keypad_line_key(&line, key))
            text_addf(&text, "%s|", line.entry);
    if (!line.ended)
        text_add(&text, line.entry);
    return out;
}

static const char *typed_on_a_pad(const struct stream *stream)
{
    struct keypad_strokes strokes = {.role = KEYPAD_KEYS};
    return typed(&strokes, stream);
}

static void every_key_has_its_character(void **state)
{
    (void)state;
    struct stream *stream = fresh();
    stream_type(stream, "0123456789./*-+\n");
    assert_string_equal(typed_on_a_pad(stream), "0123456789./*-+|");
}

static void a_pad_that_acts_on_numlock_gives_the_same(void **state)
{
    (void)state;
    static const int off[] = {KEY_HOME, KEY_UP,   KEY_PAGEUP,   KEY_LEFT,   KEY_KP5,   KEY_RIGHT,
                              KEY_END,  KEY_DOWN, KEY_PAGEDOWN, KEY_INSERT, KEY_DELETE};
    struct stream *stream = fresh();
    for (size_t i = 0; i < sizeof off / sizeof off[0]; i++) {
        stream_tap(stream, KEY_NUMLOCK); /* some send it around every key */
        stream_tap(stream, off[i]);
        stream_tap(stream, KEY_NUMLOCK);
    }
    stream_tap(stream, KEY_ENTER);
    assert_string_equal(typed_on_a_pad(stream), "7894561230.|");
}

static void numlock_held_around_a_key_is_no_second_key(void **state)
{
    (void)state;
    struct stream *stream = fresh();
    stream_key(stream, KEY_NUMLOCK, 1);
    stream_tap(stream, KEY_KP4);
    stream_key(stream, KEY_NUMLOCK, 0);
    stream_tap(stream, KEY_KPENTER);
    assert_string_equal(typed_on_a_pad(stream), "4|");
}

static void a_key_held_down_counts_once(void **state)
{
    (void)state;
    struct stream *stream = fresh();
    stream_key(stream, KEY_KP8, 1);
    for (int i = 0; i < 40; i++) {
        stream->at_ms += 33;
        stream_key(stream, KEY_KP8, 2);
    }
    stream_key(stream, KEY_KP8, 0);
    stream->at_ms += 40;
    stream_tap(stream, KEY_KPENTER);
    assert_string_equal(typed_on_a_pad(stream), "8|");
}

static void quick_fingers_roll_over(void **state)
{
    (void)state;
    struct stream *stream = fresh();
    stream_key(stream, KEY_KP5, 1);
    stream->at_ms += 60;
    stream_key(stream, KEY_KPSLASH, 1);
    stream->at_ms += 10;
    stream_key(stream, KEY_KP5, 0);
    stream->at_ms += 50;
    stream_key(stream, KEY_KP8, 1);
    stream_key(stream, KEY_KPSLASH, 0);
    stream->at_ms += 60;
    stream_key(stream, KEY_KP8, 0);
    stream_tap(stream, KEY_KPENTER);
    assert_string_equal(typed_on_a_pad(stream), "5/8|");
}

static void two_keys_at_once_are_neither(void **state)
{
    (void)state;
    struct keypad_strokes strokes = {.role = KEYPAD_KEYS};
    struct stream *stream = fresh();
    stream_tap(stream, KEY_KP1);
    stream_key(stream, KEY_KP5, 1);
    stream->at_ms += 8;
    stream_key(stream, KEY_KP6, 1);
    stream->at_ms += 90;
    stream_key(stream, KEY_KP3, 1); /* the glove rests on */
    stream_key(stream, KEY_KP5, 0);
    stream_key(stream, KEY_KP6, 0);
    stream_key(stream, KEY_KP3, 0);
    stream->at_ms += 50;
    stream_type(stream, "2\n");
    assert_string_equal(typed(&strokes, stream), "12|");
    assert_int_equal(strokes.clashes, 1);
}

static void a_digit_pressed_with_enter_enters_nothing(void **state)
{
    (void)state;
    struct stream *stream = fresh();
    stream_tap(stream, KEY_KP5);
    stream_key(stream, KEY_KP3, 1);
    stream_key(stream, KEY_KPENTER, 1); /* in the same report of the pad: the same time */
    stream->at_ms += 60;
    stream_key(stream, KEY_KP3, 0);
    stream_key(stream, KEY_KPENTER, 0);
    assert_string_equal(typed_on_a_pad(stream), "5");
}

static void the_double_zero_key_is_no_glove(void **state)
{
    (void)state;
    struct stream *stream = fresh();
    stream_tap(stream, KEY_KP5);
    for (int i = 0; i < 2; i++) {
        stream_key(stream, KEY_KP0, 1);
        stream->at_ms += 2;
        stream_key(stream, KEY_KP0, 0);
        stream->at_ms += 2;
    }
    stream_tap(stream, KEY_KPENTER);
    assert_string_equal(typed_on_a_pad(stream), "500|");
}

static void dropped_events_are_not_guessed(void **state)
{
    (void)state;
    struct stream *stream = fresh();
    stream_key(stream, KEY_KP1, 1);
    stream_event(stream, EV_SYN, SYN_DROPPED, 0);
    stream_event(stream, EV_KEY, KEY_KP7, 1);
    stream_event(stream, EV_SYN, SYN_REPORT, 0);
    stream->at_ms += 5;
    stream_type(stream, "2\n");
    assert_string_equal(typed_on_a_pad(stream), "12|");
}

static void other_keys_and_axes_are_nothing(void **state)
{
    (void)state;
    struct stream *stream = fresh();
    stream_tap(stream, KEY_A);
    stream_tap(stream, KEY_LEFTSHIFT);
    stream_event(stream, EV_REL, REL_X, 5);
    stream_event(stream, EV_KEY, 0xFFFF, 1);
    stream_event(stream, EV_LED, LED_NUML, 1);
    stream_type(stream, "3\n");
    assert_string_equal(typed_on_a_pad(stream), "3|");
}

static void a_foot_switch_is_enter_whatever_it_sends(void **state)
{
    (void)state;
    struct keypad_strokes strokes = {.role = KEYPAD_FOOT_ENTER};
    struct stream *stream = fresh();
    stream_tap(stream, KEY_B);
    stream_tap(stream, KEY_PAGEDOWN);
    assert_string_equal(typed(&strokes, stream), "||");
    assert_false(keypad_strokes_talk(&strokes));
}

static void a_foot_switch_talks_while_it_is_down(void **state)
{
    (void)state;
    struct keypad_strokes strokes = {.role = KEYPAD_FOOT_TALK};
    struct stream *stream = fresh();
    char key;
    stream_key(stream, KEY_B, 1);
    stream_key(stream, KEY_B, 2);
    for (size_t i = 0; i < stream->n; i++)
        assert_false(keypad_stroke(&strokes, &stream->event[i], &key));
    assert_true(keypad_strokes_talk(&strokes));
    stream->n = 0;
    stream_key(stream, KEY_B, 0);
    for (size_t i = 0; i < stream->n; i++)
        assert_false(keypad_stroke(&strokes, &stream->event[i], &key));
    assert_false(keypad_strokes_talk(&strokes));
}

static void lost_events_let_the_talk_key_go(void **state)
{
    (void)state;
    struct keypad_strokes strokes = {.role = KEYPAD_FOOT_TALK};
    struct stream *stream = fresh();
    char key;
    stream_key(stream, KEY_B, 1);
    stream_event(stream, EV_SYN, SYN_DROPPED, 0);
    for (size_t i = 0; i < stream->n; i++)
        keypad_stroke(&strokes, &stream->event[i], &key);
    assert_false(keypad_strokes_talk(&strokes));
}

/* Any bytes at all: nothing breaks, and the count of held keys stays true. */
static void any_event_is_safe(void **state)
{
    (void)state;
    struct keypad_strokes strokes = {.role = KEYPAD_KEYS};
    uint32_t seed = 12345;
    for (int i = 0; i < 200000; i++) {
        struct input_event event = {.type = 0};
        seed = seed * 1664525 + 1013904223;
        event.type = (unsigned short)(seed >> 30);
        event.code = (unsigned short)(seed >> 8 & (seed >> 28 & 1 ? 0xFFFF : 0x7F));
        event.value = (int)(seed >> 4 & 3);
        event.input_event_usec = (long)(seed >> 12 & 0xFFFF);
        char key = 'x';
        bool gave = keypad_stroke(&strokes, &event, &key);
        assert_true(!gave || (key != '\0' && strchr("0123456789./*-+\r\b", key) != NULL));
        size_t held = 0;
        for (size_t code = 0; code < KEY_CNT; code++)
            held += strokes.held[code];
        assert_int_equal(held, strokes.holding);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_key_has_its_character),
        cmocka_unit_test(a_pad_that_acts_on_numlock_gives_the_same),
        cmocka_unit_test(numlock_held_around_a_key_is_no_second_key),
        cmocka_unit_test(a_key_held_down_counts_once),
        cmocka_unit_test(quick_fingers_roll_over),
        cmocka_unit_test(two_keys_at_once_are_neither),
        cmocka_unit_test(a_digit_pressed_with_enter_enters_nothing),
        cmocka_unit_test(the_double_zero_key_is_no_glove),
        cmocka_unit_test(dropped_events_are_not_guessed),
        cmocka_unit_test(other_keys_and_axes_are_nothing),
        cmocka_unit_test(a_foot_switch_is_enter_whatever_it_sends),
        cmocka_unit_test(a_foot_switch_talks_while_it_is_down),
        cmocka_unit_test(lost_events_let_the_talk_key_go),
        cmocka_unit_test(any_event_is_safe),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
