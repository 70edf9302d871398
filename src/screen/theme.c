/* Colours: see theme.h. */
#include "screen/theme.h"

#include <stdlib.h>
#include <string.h>

enum { BLACK, RED, GREEN, YELLOW, BLUE, MAGENTA, CYAN, WHITE };

/* xterm's palette of 256: 16 is black, 231 white, 232 .. 255 greys. */
static const struct screen_ink dark_256[SCREEN_STYLES] = {
    [SCREEN_PLAIN] = {253, 16, false, false, false},
    [SCREEN_SOFT] = {248, 16, false, false, false},
    [SCREEN_STRONG] = {231, 16, true, false, false},
    [SCREEN_NUMBER] = {159, 16, true, false, false},
    [SCREEN_GOOD] = {157, 16, false, false, false},
    [SCREEN_DOUBT] = {222, 16, true, false, false},
    [SCREEN_BAD] = {217, 16, true, false, false},
    [SCREEN_WARNING] = {16, 220, true, false, false},
    [SCREEN_RAIL] = {16, 73, false, false, false},
    [SCREEN_KEY] = {16, 252, true, false, false},
};

static const struct screen_ink light_256[SCREEN_STYLES] = {
    [SCREEN_PLAIN] = {234, 231, false, false, false},
    [SCREEN_SOFT] = {240, 231, false, false, false},
    [SCREEN_STRONG] = {16, 231, true, false, false},
    [SCREEN_NUMBER] = {24, 231, true, false, false},
    [SCREEN_GOOD] = {22, 231, false, false, false},
    [SCREEN_DOUBT] = {53, 231, true, false, false},
    [SCREEN_BAD] = {88, 231, true, false, false},
    [SCREEN_WARNING] = {16, 220, true, false, false},
    [SCREEN_RAIL] = {16, 73, false, false, false},
    [SCREEN_KEY] = {231, 236, true, false, false},
};

/* On eight colours what is bright is bold, and only what can be read on either ground is used. */
static const struct screen_ink dark_8[SCREEN_STYLES] = {
    [SCREEN_PLAIN] = {WHITE, BLACK, false, false, false},
    [SCREEN_SOFT] = {WHITE, BLACK, false, false, false},
    [SCREEN_STRONG] = {WHITE, BLACK, true, false, false},
    [SCREEN_NUMBER] = {CYAN, BLACK, true, false, false},
    [SCREEN_GOOD] = {GREEN, BLACK, true, false, false},
    [SCREEN_DOUBT] = {YELLOW, BLACK, true, false, false},
    [SCREEN_BAD] = {YELLOW, BLACK, true, false, true},
    [SCREEN_WARNING] = {BLACK, YELLOW, false, false, false},
    [SCREEN_RAIL] = {BLACK, CYAN, false, false, false},
    [SCREEN_KEY] = {BLACK, WHITE, false, false, false},
};

static const struct screen_ink light_8[SCREEN_STYLES] = {
    [SCREEN_PLAIN] = {BLACK, WHITE, false, false, false},
    [SCREEN_SOFT] = {BLACK, WHITE, false, false, false},
    [SCREEN_STRONG] = {BLACK, WHITE, true, false, false},
    [SCREEN_NUMBER] = {BLUE, WHITE, true, false, false},
    [SCREEN_GOOD] = {BLACK, WHITE, false, false, false},
    [SCREEN_DOUBT] = {BLACK, WHITE, true, false, false},
    [SCREEN_BAD] = {BLACK, WHITE, true, false, true},
    [SCREEN_WARNING] = {BLACK, YELLOW, false, false, false},
    [SCREEN_RAIL] = {WHITE, BLUE, false, false, false},
    [SCREEN_KEY] = {WHITE, BLACK, false, false, false},
};

static const struct screen_ink none[SCREEN_STYLES] = {
    [SCREEN_PLAIN] = {-1, -1, false, false, false}, [SCREEN_SOFT] = {-1, -1, false, false, false},
    [SCREEN_STRONG] = {-1, -1, true, false, false}, [SCREEN_NUMBER] = {-1, -1, true, false, false},
    [SCREEN_GOOD] = {-1, -1, false, false, false},  [SCREEN_DOUBT] = {-1, -1, true, false, false},
    [SCREEN_BAD] = {-1, -1, true, false, true},     [SCREEN_WARNING] = {-1, -1, true, true, false},
    [SCREEN_RAIL] = {-1, -1, false, true, false},   [SCREEN_KEY] = {-1, -1, false, true, false},
};

const struct screen_ink *screen_theme(int colours, bool light)
{
    if (colours >= 256)
        return light ? light_256 : dark_256;
    if (colours >= 8)
        return light ? light_8 : dark_8;
    return none;
}

bool screen_theme_is_light(enum screen_colours wanted, const char *colorfgbg)
{
    if (wanted != SCREEN_BY_ITSELF || colorfgbg == NULL)
        return wanted == SCREEN_LIGHT;
    const char *back = strrchr(colorfgbg, ';');
    if (back == NULL || back[1] < '0' || back[1] > '9')
        return false;
    long number = strtol(back + 1, NULL, 10); /* any length: it ends at the largest there is */
    return number == 7 || number == 15;
}
