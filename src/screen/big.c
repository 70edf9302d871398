/* The screen to be read from afar: the whole terminal, drawn by ncurses. What it shows is laid out
 * in layout.c; here are the terminal, its window and its signals. */
#include "base/text.h"
#include "screen/guard.h"
#include "screen/layout.h"
#include "screen/screen.h"
#include "screen/theme.h"
#include "screen/view.h"
#include <errno.h>
#include <langinfo.h>
#include <locale.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <time.h>
#include <unistd.h>
#include <wchar.h>

/* last: they make macros of short names */
#include <ncursesw/curses.h>
#include <ncursesw/term.h>

enum { REDRAW_MS = 100, LAST_WORDS = 2 * SCREEN_SENTENCE };

struct big {
    FILE *out;
    SCREEN *terminal;
    struct screen_view view;
    struct screen_grid grid;
    const struct screen_ink *inks;
    short pair[SCREEN_STYLES];
    struct screen_guard guard;
    struct sigaction before_winch, before_stop, before_continue;
    bool stale; /* the view is newer than what is drawn */
    int64_t drawn_ms;
};

/* ---- signals ------------------------------------------------------------------------------ */

/* Only noted here; the next tick acts. There is one screen a process. */
static volatile sig_atomic_t window_changed, stop_wanted;

static void on_signal(int number)
{
    if (number == SIGTSTP)
        stop_wanted = 1;
    else
        window_changed = 1; /* after a stop, too: all must be drawn again */
}

/* No SA_RESTART: a wait for an answer must end, so that the next tick comes at once. */
static void catch_signal(int number, struct sigaction *before)
{
    struct sigaction action;
    memset(&action, 0, sizeof action);
    action.sa_handler = on_signal;
    sigemptyset(&action.sa_mask);
    sigaction(number, NULL, before);
    if (number != SIGTSTP || before->sa_handler != SIG_IGN) /* a shell without job control */
        sigaction(number, &action, NULL);
}

static void catch_signals(struct big *big)
{
    window_changed = stop_wanted = 0;
    catch_signal(SIGWINCH, &big->before_winch);
    catch_signal(SIGTSTP, &big->before_stop);
    catch_signal(SIGCONT, &big->before_continue);
}

static void leave_signals(const struct big *big)
{
    sigaction(SIGWINCH, &big->before_winch, NULL);
    sigaction(SIGTSTP, &big->before_stop, NULL);
    sigaction(SIGCONT, &big->before_continue, NULL);
}

/* ---- drawing ------------------------------------------------------------------------------ */

static int64_t now_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static attr_t attributes_of(const struct screen_ink *ink, bool reverse)
{
    return (attr_t)((ink->bold ? A_BOLD : 0) | (ink->underline ? A_UNDERLINE : 0) |
                    (ink->reverse != reverse ? A_REVERSE : 0));
}

static void draw_cell(const struct big *big, int row, int col)
{
    const struct screen_cell *cell = &big->grid.cell[row * big->grid.cols + col];
    bool reverse;
    wchar_t text[2] = {(wchar_t)screen_grid_glyph(&big->grid, cell, &reverse), L'\0'};
    if (wcwidth(text[0]) != 1)
        text[0] = L'?';
    cchar_t glyph;
    setcchar(&glyph, text, attributes_of(&big->inks[cell->style], reverse), big->pair[cell->style],
             NULL);
    mvadd_wch(row, col, &glyph);
}

static void draw(struct big *big)
{
    screen_layout(&big->view, &big->grid, NULL);
    for (int row = 0; row < big->grid.rows; row++)
        for (int col = 0; col < big->grid.cols; col++)
            draw_cell(big, row, col);
    refresh();
    big->stale = false;
    big->drawn_ms = now_ms();
}

static void take_window(struct big *big)
{
    struct winsize window = {0};
    window_changed = 0;
    if (ioctl(fileno(big->out), TIOCGWINSZ, &window) == 0 && window.ws_row > 0 && window.ws_col > 0)
        resizeterm(window.ws_row, window.ws_col);
    screen_grid_resize(&big->grid, LINES, COLS);
    erase();
    clearok(stdscr, TRUE);
}

/* Ctrl-Z: the terminal as it was, until midthrow is let go on. The number pad may have set it after
 * ncurses did, so its settings are taken down as they are now. */
static void stop_and_go_on(struct big *big)
{
    struct sigaction ours;
    stop_wanted = 0;
    def_prog_mode();
    endwin();
    sigaction(SIGTSTP, &big->before_stop, &ours);
    raise(SIGTSTP);
    sigaction(SIGTSTP, &ours, NULL);
    reset_prog_mode();
    take_window(big);
    draw(big);
}

static void big_tick(void *state)
{
    struct big *big = state;
    if (stop_wanted != 0)
        stop_and_go_on(big);
    if (window_changed != 0) {
        take_window(big);
        draw(big);
    } else if (big->stale && now_ms() - big->drawn_ms >= REDRAW_MS) {
        draw(big);
    }
}

/* ---- opening ------------------------------------------------------------------------------ */

/* The Linux console knows Unicode, but its fonts have few blocks. */
static enum screen_charset charset_of(const char *term)
{
    if (strcmp(nl_langinfo(CODESET), "UTF-8") != 0)
        return SCREEN_ASCII;
    return term != NULL && strcmp(term, "linux") == 0 ? SCREEN_HALVES : SCREEN_QUARTERS;
}

static void choose_colours(struct big *big, const struct screen_config *config)
{
    const char *no_colour = getenv("NO_COLOR");
    bool light = screen_theme_is_light(config->colours, getenv("COLORFGBG"));
    int colours = 0;
    if ((no_colour == NULL || no_colour[0] == '\0') && has_colors() && start_color() == OK)
        colours = COLOR_PAIRS > SCREEN_STYLES ? COLORS : 0;
    big->inks = screen_theme(colours, light);
    for (int style = 0; style < SCREEN_STYLES; style++) {
        big->pair[style] = 0;
        if (colours >= 8 &&
            init_pair((short)(style + 1), big->inks[style].front, big->inks[style].back) == OK)
            big->pair[style] = (short)(style + 1);
    }
    cchar_t ground;
    setcchar(&ground, L" ", A_NORMAL, big->pair[SCREEN_PLAIN], NULL);
    bkgrnd(&ground);
}

/* What the terminal wants to hear for it; NULL when it does not know such a thing. */
static const char *terminal_code(const char *name)
{
    char written[8]; /* the library's own argument is not const */
    text_copy(written, sizeof written, name);
    const char *code = tigetstr(written);
    /* NOLINTNEXTLINE(performance-no-int-to-ptr): so the library says that it is no string */
    return code == (char *)-1 ? NULL : code;
}

static void start_guard(struct big *big, const struct termios *before)
{
    static const char *const wanted[] = {"sgr0", "op", "cnorm", "rmcup"};
    char restore[256];
    struct text text = text_into(restore, sizeof restore);
    for (size_t i = 0; i < sizeof wanted / sizeof wanted[0]; i++) {
        const char *code = terminal_code(wanted[i]);
        if (code != NULL && text.used + strlen(code) + 1 < sizeof restore)
            text_add(&text, code);
    }
    screen_guard_start(&big->guard, fileno(big->out), before, restore);
}

/* One that can put a letter anywhere. */
static bool can_be_drawn_on(FILE *out, struct termios *before)
{
    int trouble;
    if (tcgetattr(fileno(out), before) != 0 || setupterm(NULL, fileno(out), &trouble) != OK)
        return false;
    bool anywhere = terminal_code("cup") != NULL;
    del_curterm(cur_term);
    return anywhere;
}

static bool big_open(const struct screen_config *config, void **state, struct fault *fault)
{
    struct termios before;
    struct big *big = calloc(1, sizeof *big);
    if (big == NULL)
        return fault_set(fault, FAULT_FAILED, "out of memory: close other programs.");
    big->out = config->out;
    setlocale(LC_CTYPE, "");
    catch_signals(big); /* before ncurses looks for handlers of its own to set */
    fflush(big->out);
    if (can_be_drawn_on(big->out, &before))
        big->terminal = newterm(NULL, big->out, stdin);
    if (big->terminal == NULL) {
        leave_signals(big);
        free(big);
        return fault_set(fault, FAULT_MISSING,
                         "this terminal cannot be drawn on: use --plain, or set TERM.");
    }
    start_guard(big, &before);
    big->grid.charset = charset_of(getenv("TERM"));
    choose_colours(big, config);
    curs_set(0);
    leaveok(stdscr, TRUE);
    take_window(big);
    draw(big);
    *state = big;
    return true;
}

/* ---- what happens ------------------------------------------------------------------------- */

static void changed(struct big *big)
{
    big_tick(big);
    draw(big);
}

static void big_said(void *state, const char *sentence, bool caution)
{
    struct big *big = state;
    screen_view_said(&big->view, sentence, caution);
    changed(big);
}

static void big_asked(void *state, const struct screen_question *question)
{
    struct big *big = state;
    screen_view_asked(&big->view, question);
    changed(big);
}

static void big_heard(void *state, const struct screen_heard *heard)
{
    struct big *big = state;
    screen_view_heard(&big->view, heard);
    changed(big);
}

static void big_value(void *state, const struct screen_value *value)
{
    struct big *big = state;
    screen_view_value(&big->view, value);
    changed(big);
}

static void big_balance(void *state, const struct screen_balance *balance)
{
    struct big *big = state;
    screen_view_balance(&big->view, balance);
    changed(big);
}

/* It comes many times a second: drawn when there is time. */
static void big_level(void *state, const struct screen_level *level)
{
    struct big *big = state;
    screen_view_level(&big->view, level);
    big->stale = true;
    big_tick(big);
}

static void big_entry(void *state, const char *typed)
{
    struct big *big = state;
    screen_view_entry(&big->view, typed);
    changed(big);
}

static void big_progress(void *state, const struct screen_progress *progress)
{
    struct big *big = state;
    screen_view_progress(&big->view, progress);
    changed(big);
}

static void big_finished(void *state, bool closed)
{
    struct big *big = state;
    screen_view_finished(&big->view, closed);
    changed(big);
}

/* ---- closing ------------------------------------------------------------------------------ */

/* What was said last stays to be read on the terminal as it was. */
static void print_last_words(const struct big *big)
{
    int escape = 0;
    const char *text = big->view.sentence;
    fputs("  ", big->out);
    for (uint32_t glyph; (glyph = screen_next_glyph(&text, &escape, SCREEN_ASCII)) != 0;)
        fputc((int)glyph, big->out);
    fputc('\n', big->out);
    fflush(big->out);
}

static void big_close(void *state)
{
    struct big *big = state;
    endwin();
    screen_guard_stop(&big->guard);
    delscreen(big->terminal);
    leave_signals(big);
    if (big->view.sentence[0] != '\0')
        print_last_words(big);
    screen_grid_free(&big->grid);
    free(big);
}

const struct screen_driver screen_big = {
    .name = "big",
    .open = big_open,
    .said = big_said,
    .asked = big_asked,
    .heard = big_heard,
    .value = big_value,
    .balance = big_balance,
    .level = big_level,
    .entry = big_entry,
    .progress = big_progress,
    .finished = big_finished,
    .tick = big_tick,
    .close = big_close,
};
