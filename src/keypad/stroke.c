/* Input events into the pad's characters: see stroke.h. */
#include "keypad/stroke.h"

#include <string.h>

/* The kernel's names: linux/input-event-codes.h. */
static const struct {
    unsigned short code;
    char key;
} codes[] = {
    {KEY_KP0, '0'},        {KEY_INSERT, '0'},   {KEY_0, '0'},        {KEY_KP1, '1'},
    {KEY_END, '1'},        {KEY_1, '1'},        {KEY_KP2, '2'},      {KEY_DOWN, '2'},
    {KEY_2, '2'},          {KEY_KP3, '3'},      {KEY_PAGEDOWN, '3'}, {KEY_3, '3'},
    {KEY_KP4, '4'},        {KEY_LEFT, '4'},     {KEY_4, '4'},        {KEY_KP5, '5'},
    {KEY_CLEAR, '5'},      {KEY_5, '5'},        {KEY_KP6, '6'},      {KEY_RIGHT, '6'},
    {KEY_6, '6'},          {KEY_KP7, '7'},      {KEY_HOME, '7'},     {KEY_7, '7'},
    {KEY_KP8, '8'},        {KEY_UP, '8'},       {KEY_8, '8'},        {KEY_KP9, '9'},
    {KEY_PAGEUP, '9'},     {KEY_9, '9'},        {KEY_KPDOT, '.'},    {KEY_KPCOMMA, '.'},
    {KEY_DELETE, '.'},     {KEY_DOT, '.'},      {KEY_COMMA, '.'},    {KEY_KPSLASH, '/'},
    {KEY_SLASH, '/'},      {KEY_KPMINUS, '-'},  {KEY_MINUS, '-'},    {KEY_KPPLUS, '+'},
    {KEY_KPASTERISK, '*'}, {KEY_KPENTER, '\r'}, {KEY_ENTER, '\r'},   {KEY_BACKSPACE, '\b'},
};

char keypad_code_key(unsigned code)
{
    for (size_t i = 0; i < sizeof codes / sizeof codes[0]; i++)
        if (codes[i].code == code)
            return codes[i].key;
    return '\0';
}

void keypad_strokes_release(struct keypad_strokes *strokes)
{
    memset(strokes->held, 0, sizeof strokes->held);
    strokes->holding = 0;
    strokes->together = false;
    strokes->last = '\0';
}

bool keypad_strokes_talk(const struct keypad_strokes *strokes)
{
    return strokes->role == KEYPAD_FOOT_TALK && strokes->holding > 0;
}

static int64_t time_us(const struct input_event *event)
{
    return (int64_t)event->input_event_sec * 1000000 + (int64_t)event->input_event_usec;
}

/* A second key beside one that went down just before: what that one gave is taken back. */
static bool clash(struct keypad_strokes *strokes, char *key)
{
    bool take_back = !strokes->together && strokes->last != '\0' && strokes->last != '\r' &&
                     strokes->last != '\b';
    if (!strokes->together)
        strokes->clashes++;
    strokes->together = true;
    *key = '\b';
    return take_back;
}

static bool press(struct keypad_strokes *strokes, unsigned code, int64_t at_us, char *key)
{
    int64_t since_us = at_us - strokes->down_us;
    bool near = strokes->holding > 0 && since_us < KEYPAD_TOGETHER_MS * 1000;
    strokes->held[code] = true;
    strokes->holding++;
    strokes->down_us = at_us;
    if (strokes->role != KEYPAD_KEYS) {
        *key = '\r';
        return strokes->role == KEYPAD_FOOT_ENTER && strokes->holding == 1;
    }
    if (near || strokes->together)
        return clash(strokes, key);
    *key = strokes->last = keypad_code_key(code);
    return true;
}

static void let_go(struct keypad_strokes *strokes, unsigned code)
{
    if (!strokes->held[code])
        return;
    strokes->held[code] = false;
    if (--strokes->holding == 0)
        keypad_strokes_release(strokes);
}

bool keypad_stroke(struct keypad_strokes *strokes, const struct input_event *event, char *key)
{
    enum { UP, DOWN }; /* 2 is the kernel's repetition of a key that is held */
    if (event->type == EV_SYN && event->code == SYN_DROPPED) {
        /* Documentation/input/event-codes.rst: all up to the next report is to be thrown away */
        strokes->lost = true;
        keypad_strokes_release(strokes);
    } else if (event->type == EV_SYN && event->code == SYN_REPORT) {
        strokes->lost = false;
    } else if (event->type == EV_KEY && event->code < KEY_CNT && !strokes->lost) {
        if (strokes->role == KEYPAD_KEYS && keypad_code_key(event->code) == '\0')
            return false;
        if (event->value == DOWN && !strokes->held[event->code])
            return press(strokes, event->code, time_us(event), key);
        if (event->value == UP)
            let_go(strokes, event->code);
    }
    return false;
}
