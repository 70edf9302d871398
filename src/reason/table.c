/*
 * The table of judgement: every number here is judgement, from how the parts work, not from counts.
 * A shop's closed jobs replace the priors (reason_init_with); the likelihoods stand until somebody
 * knows better, and then the row's comment is what has to be argued with.
 *
 * How to read a likelihood row: "if it is this cause, out of a hundred bikes so many give each
 * answer". What the rider or the technician reports from memory is never given less than about 3 in
 * 100, because reports are wrong that often; what was looked at or measured may go to 1 in 100.
 *
 * The mechanics behind the rows, once:
 *   - Neutral lies half a step of the drum from first and from second. Finding it takes dogs that
 * are free to slide and an arm that moves the drum by exactly half a step.
 *   - A clutch that does not free the box (*drag*) holds torque on the dogs: they stick, then jump
 * past neutral. It needs the engine's torque, so it is gone with the engine off; it is worst
 * standing with the lever in, and when it is bad the bike creeps.
 *   - An arm, pawl, linkage or drum that moves by the wrong step does so hot or cold, engine off or
 *     running. It does not make the bike creep.
 */
#include "reason/table.h"

/* A reason, its row. */
/* clang-format off */

/* The causes. The weights are shares of a hundred bikes that come in with this complaint. */
const struct reason_cause_row reason_cause_table[REASON_CAUSE_COUNT] = {
    /* The reason this tool exists: a setting that lock nuts, wear and other people's hands move. */
    [REASON_PAWL] = {"pawl", "shifter pawl out of centre", 18, REASON_CHECK_PAWL},
    /* The commonest of all on a bike in daily use: cables stretch, levers are set by taste. */
    [REASON_FREE_PLAY] = {"free_play", "clutch free play wrong", 20, REASON_CHECK_FREE_PLAY},
    /* Set behind a cover and forgotten; often made up for at the lever, which hides it. */
    [REASON_CLUTCH_ADJUST] = {"clutch_adjuster", "internal clutch adjuster set wrong", 12,
                              REASON_CHECK_INTERNAL_ADJUSTER},
    /* Cables are changed when they break; before that they stick. */
    [REASON_CLUTCH_CABLE] = {"clutch_cable", "clutch cable sticking or badly routed", 4,
                             REASON_CHECK_CABLE},
    /* Only bikes with a hydraulic clutch have it, which is the smaller part of them. */
    [REASON_CLUTCH_HYDRAULIC] = {"clutch_hydraulic", "air or tired seal in clutch", 5,
                                 REASON_CHECK_HYDRAULIC},
    /* Plates wear into slip far more often than into drag: warp and sticking are what drags. */
    [REASON_PLATES] = {"plates", "clutch plates warped or sticking", 6, REASON_CHECK_PACK},
    /* Rivets of the sprung double plate let go: known, not common. */
    [REASON_SPRING_PLATE] = {"spring_plate", "clutch spring plate come loose", 4,
                             REASON_CHECK_PACK},
    /* A leak is seen on the floor before it is felt in the shift. */
    [REASON_FLUID_LOW] = {"fluid_low", "primary fluid low", 3, REASON_CHECK_FLUID},
    /* Filled to the eye instead of to the mark, or with the bike on its stand. */
    [REASON_FLUID_HIGH] = {"fluid_high", "primary fluid too high", 4, REASON_CHECK_FLUID},
    /* The service nobody sees skipped. */
    [REASON_FLUID_OLD] = {"fluid_old", "old primary fluid", 5, REASON_CHECK_FLUID_CHANGE},
    /* Engine oil, or too thick an oil, where the clutch wants its own. */
    [REASON_FLUID_WRONG] = {"fluid_wrong", "wrong primary fluid", 3, REASON_CHECK_FLUID_CHANGE},
    /* Outside, dirty and kicked: rod ends and splines wear, clamps work loose. */
    [REASON_LINKAGE] = {"linkage", "shift linkage worn or loose", 6, REASON_CHECK_LINKAGE},
    /* Takes years or one blow on the lever. */
    [REASON_HOOK] = {"hook", "pawl hook worn or bent", 3, REASON_CHECK_PAWL},
    /* Not a fault of the box at all, but enough idle turns a healthy clutch's drag into trouble. */
    [REASON_IDLE] = {"idle", "idle too high", 4, REASON_CHECK_IDLE},
    /* Rare, dear, and the last thing to open. */
    [REASON_GEARBOX] = {"gearbox", "gearbox detent or fork trouble", 3, REASON_CHECK_GEARBOX},
};

const struct reason_evidence_row reason_evidence_table[REASON_EVIDENCE_COUNT] = {
/* ---- the intake: what the rider and the technician report ------------------------------------ */

[REASON_COMPLAINT] = {
    "complaint", 3,
    {{"hard_to_find", "neutral is hard to find"},
     {"false_neutral", "there is a false neutral"},
     {"both", "both kinds of trouble show"}},
    /* Any drag: the dogs are held, so neutral is hard. A step missed by drag alone is seldom. */
    {.86, .03, .11},
    {
        /* Too long a throw one way falls short of the step: hard that way, at times between
         * gears. */
        [REASON_PAWL] = {.60, .15, .25},
        /* Stiff fluid slows the whole shift too, so a step may stay unfinished. */
        [REASON_FLUID_WRONG] = {.82, .05, .13},
        /* Plates that run dry grab now and free then: less of a pattern. */
        [REASON_FLUID_LOW] = {.78, .07, .15},
        /* A sticking cable lets go late in the stroke: now and then the shift is begun too
         * early. */
        [REASON_CLUTCH_CABLE] = {.83, .05, .12},
        /* Lost motion eats the end of every step: the drum stops short, between two gears. */
        [REASON_LINKAGE] = {.25, .40, .35},
        /* The hook slips off the pin before the step is done: as with lost motion, only harsher. */
        [REASON_HOOK] = {.30, .35, .35},
        /* Nothing holds the drum in its notch, or the fork does not carry the gear home. */
        [REASON_GEARBOX] = {.12, .58, .30},
    }},

[REASON_TEMPERATURE] = {
    "temperature", 3,
    {{"hot", "it happens only when hot"},
     {"cold", "it happens only when cold"},
     {"both", "hot and cold are alike"}},
    /* Not used by any cause: each has a row. */
    {.25, .12, .63},
    {
        /* A matter of geometry: steel grows too little to matter. */
        [REASON_PAWL] = {.12, .08, .80},
        /* Lost travel is lost always; the swelling pack needs a little more of it when hot. */
        [REASON_FREE_PLAY] = {.30, .10, .60},
        /* The cases grow more than the push rod: clearance that would just do cold is too much
         * hot. */
        [REASON_CLUTCH_ADJUST] = {.38, .08, .54},
        /* Dry grease is stiff cold; a cable laid by the exhaust gets worse hot: either way. */
        [REASON_CLUTCH_CABLE] = {.25, .25, .50},
        /* Air and vapour expand, hot fluid passes a tired lip: heat takes the travel away. */
        [REASON_CLUTCH_HYDRAULIC] = {.55, .07, .38},
        /* A dished plate dishes further hot; glued plates are a cold trouble; warp is the
         * commoner. */
        [REASON_PLATES] = {.48, .14, .38},
        /* The pack is too thick, hot or cold; hot it is a little thicker. */
        [REASON_SPRING_PLATE] = {.25, .05, .70},
        /* Little fluid gets hot soon, and then the plates grab. */
        [REASON_FLUID_LOW] = {.40, .12, .48},
        /* The plates churn in it: cold and thick is worst, yet it never goes away. */
        [REASON_FLUID_HIGH] = {.20, .30, .50},
        /* Varnish glues the plates cold, thinned fluid leaves no film hot. */
        [REASON_FLUID_OLD] = {.36, .28, .36},
        /* Mostly too thick: cold thick fluid drags the plates round with it. */
        [REASON_FLUID_WRONG] = {.22, .48, .30},
        /* Wear does not know the temperature. */
        [REASON_LINKAGE] = {.10, .07, .83},
        [REASON_HOOK] = {.09, .07, .84}, /* as the linkage */
        /* High idle belongs to the warm-up, or to a screw that somebody set on a cold engine. */
        [REASON_IDLE] = {.32, .42, .26},
        /* Mostly alike; a fork binds a little more when everything is hot. */
        [REASON_GEARBOX] = {.17, .08, .75},
    }},

[REASON_ENGINE] = {
    "engine", 3,
    {{"off", "it happens only engine off"},
     {"running", "it happens only engine running"},
     {"both", "engine off is no better"}},
    /* Drag needs torque: with the engine off there is none, and neutral is easy. 3 in 100 report an
     * engine-off neutral as hard because the dogs stood tooth on tooth. */
    {.03, .88, .09},
    {
        /* The wrong step stays wrong with the engine off. Only off: the box is not turned to
         * help. */
        [REASON_PAWL] = {.13, .22, .65},
        [REASON_LINKAGE] = {.10, .22, .68}, /* lost motion is there engine off too */
        [REASON_HOOK] = {.11, .19, .70}, /* the hook slips at rest as well */
        /* A weak detent shows most under load and shake, a bound fork always. */
        [REASON_GEARBOX] = {.08, .28, .64},
        /* No idle, no trouble: purer than any drag. */
        [REASON_IDLE] = {.02, .94, .04},
        /* Thick fluid holds the plates together even when pushed by hand. */
        [REASON_FLUID_WRONG] = {.03, .86, .11},
    }},

[REASON_MOTION] = {
    "motion", 3,
    {{"rolling", "it happens only while rolling"},
     {"standing", "it happens only when standing"},
     {"both", "rolling and standing are alike"}},
    /* Drag: rolling, road and engine nearly agree, so the dogs come free; standing, they do not. */
    {.05, .65, .30},
    {
        /* The step is wrong either way; standing, nothing jiggles the dogs past it. */
        [REASON_PAWL] = {.12, .28, .60},
        /* Held in at the lights, the pressure leaks past the seal: the longer it stands, the
         * worse. */
        [REASON_CLUTCH_HYDRAULIC] = {.04, .71, .25},
        /* So much drag that rolling does not help either. */
        [REASON_SPRING_PLATE] = {.04, .56, .40},
        /* Grabs as it likes. */
        [REASON_FLUID_LOW] = {.08, .52, .40},
        /* The step is lost at any speed; under way it is met in every shift, so it is noticed
         * there. */
        [REASON_LINKAGE] = {.18, .16, .66},
        [REASON_HOOK] = {.16, .18, .66}, /* as the linkage */
        /* A high idle pushes while rolling to a stop too, but standing it is worst. */
        [REASON_IDLE] = {.06, .68, .26},
        /* Load and shake under way throw the drum out of a weak notch. */
        [REASON_GEARBOX] = {.25, .13, .62},
    }},

[REASON_CREEP] = {
    "creep", 2,
    {{"no", "it does not creep"}, {"yes", "it creeps with lever in"}},
    /* Lost release travel. Neutral gets hard before the bike creeps, so not all of them creep. */
    {.40, .60},
    {
        /* The clutch is in order: nothing drives the wheel. 1 in 10 has some drag besides. */
        [REASON_PAWL] = {.90, .10},
        [REASON_LINKAGE] = {.91, .09}, /* as the pawl */
        [REASON_HOOK] = {.91, .09}, /* as the pawl */
        [REASON_GEARBOX] = {.90, .10}, /* as the pawl */
        /* It leaks down while it is held: it begins to creep at the lights. */
        [REASON_CLUTCH_HYDRAULIC] = {.33, .67},
        /* The pack never opens: of all causes this one creeps most. */
        [REASON_SPRING_PLATE] = {.22, .78},
        /* A healthy release with less fluid about it: it grabs rather than creeps. */
        [REASON_FLUID_LOW] = {.72, .28},
        /* Churning drags steadily, less hard than metal on metal. */
        [REASON_FLUID_HIGH] = {.45, .55},
        [REASON_FLUID_OLD] = {.55, .45}, /* sticky, but it lets go once it has slipped */
        [REASON_FLUID_WRONG] = {.48, .52}, /* a thick film drags as long as it is cold */
        /* The little drag of any wet clutch, at twice the speed: some creep. */
        [REASON_IDLE] = {.58, .42},
    }},

[REASON_GEARS] = {
    "gears", 2,
    {{"no", "other gears go in badly"}, {"yes", "other gears go in cleanly"}},
    /* Drag: a clunk into first, but with the bike under way the gears go in. */
    {.42, .58},
    {
        /* Whole steps forgive what half a step does not: mostly clean, at times one way is
         * missed. */
        [REASON_PAWL] = {.25, .75},
        /* So much drag that each gear is felt. */
        [REASON_SPRING_PLATE] = {.54, .46},
        /* Mild drag. */
        [REASON_FLUID_LOW] = {.35, .65},
        [REASON_FLUID_HIGH] = {.38, .62}, /* mild drag */
        [REASON_FLUID_OLD] = {.38, .62}, /* mild drag */
        /* Every step starts with the same lost motion. */
        [REASON_LINKAGE] = {.62, .38},
        /* Every step is pulled by the same worn hook. */
        [REASON_HOOK] = {.66, .34},
        /* First crunches; the others are shifted well above idle. */
        [REASON_IDLE] = {.30, .70},
        /* The box itself: the gears go in badly or jump out. */
        [REASON_GEARBOX] = {.87, .13},
    }},

[REASON_ONSET] = {
    "onset", 2,
    {{"sudden", "it came on suddenly"}, {"gradual", "it came on gradually"}},
    /* Not used by any cause: each has a row. */
    {.35, .65},
    {
        /* A lock nut that lets go, or work nearby, is sudden; wear is not: about half and half. */
        [REASON_PAWL] = {.45, .55},
        /* Stretch is slow; somebody's new lever setting is not. */
        [REASON_FREE_PLAY] = {.25, .75},
        [REASON_CLUTCH_ADJUST] = {.33, .67}, /* settles slowly, or was set so */
        /* Strands part one by one, but the last ones in a day; new bars pull it tight at once. */
        [REASON_CLUTCH_CABLE] = {.48, .52},
        /* A seal tires; air comes in with a low reservoir or a bleed. */
        [REASON_CLUTCH_HYDRAULIC] = {.35, .65},
        /* Heat by heat; one long slip can do it in an afternoon. */
        [REASON_PLATES] = {.18, .82},
        /* The rivets let go, and from then on it drags. */
        [REASON_SPRING_PLATE] = {.88, .12},
        /* A leak takes its time. */
        [REASON_FLUID_LOW] = {.28, .72},
        /* Since the day it was filled. */
        [REASON_FLUID_HIGH] = {.82, .18},
        /* Thousands of miles. */
        [REASON_FLUID_OLD] = {.05, .95},
        /* Since the day it was filled. */
        [REASON_FLUID_WRONG] = {.86, .14},
        /* Wear; now and then a clamp or a joint lets go. */
        [REASON_LINKAGE] = {.20, .80},
        /* Worn slowly; bent at once, by a fall or a boot. */
        [REASON_HOOK] = {.30, .70},
        /* Set so, or an air leak. */
        [REASON_IDLE] = {.62, .38},
        /* A detent spring breaks at once, dogs and forks wear. */
        [REASON_GEARBOX] = {.42, .58},
    }},

[REASON_SERVICED_FLUID] = {
    "serviced_fluid", 2,
    {{"no", "the fluid was not serviced"}, {"yes", "the fluid was serviced lately"}},
    /* One bike in four had its primary fluid changed lately, whatever it suffers from. */
    {.75, .25},
    {
        /* How else did too much get in? (The engine's oil, past the seal: the other quarter.) */
        [REASON_FLUID_HIGH] = {.24, .76},
        /* How else did it get in? Some have had it in for long. */
        [REASON_FLUID_WRONG] = {.25, .75},
        /* Old fluid is fluid that was not changed. */
        [REASON_FLUID_OLD] = {.96, .04},
        /* Short-filled, or a plug and gasket that leak since. */
        [REASON_FLUID_LOW] = {.66, .34},
        /* The adjuster is behind the cover that is open for the fluid. */
        [REASON_CLUTCH_ADJUST] = {.68, .32},
    }},

[REASON_SERVICED_CLUTCH] = {
    "serviced_clutch", 2,
    {{"no", "the clutch was not serviced"}, {"yes", "the clutch was serviced lately"}},
    /* One in eight. */
    {.88, .12},
    {
        [REASON_FREE_PLAY] = {.68, .32}, /* what was set last is what was set wrong */
        [REASON_CLUTCH_ADJUST] = {.54, .46}, /* the same, and the harder one to set */
        [REASON_CLUTCH_CABLE] = {.74, .26}, /* pulled, kinked or routed anew */
        [REASON_CLUTCH_HYDRAULIC] = {.70, .30}, /* opened, so air came in */
        [REASON_PLATES] = {.80, .20}, /* new plates put in dry, or mixed up */
        [REASON_SPRING_PLATE] = {.84, .16}, /* a pack put together wrong looks the same */
        [REASON_FLUID_HIGH] = {.76, .24}, /* the fluid came out and went back in */
        [REASON_FLUID_WRONG] = {.80, .20}, /* the same */
        [REASON_PAWL] = {.85, .15}, /* hands were near */
    }},

[REASON_SERVICED_LINKAGE] = {
    "serviced_linkage", 2,
    {{"no", "the linkage was not serviced"}, {"yes", "the linkage was serviced lately"}},
    /* One in twenty: it is seldom touched. */
    {.95, .05},
    {
        [REASON_PAWL] = {.82, .18}, /* moved rest, or disturbed the stem */
        [REASON_LINKAGE] = {.76, .24}, /* put together loose, or at the wrong length */
        [REASON_HOOK] = {.90, .10}, /* the blow that bent the arm had the linkage repaired */
        [REASON_GEARBOX] = {.93, .07}, /* somebody looked there first */
    }},

/* ---- the checks: what was looked at or measured, as found ------------------------------------ */

[REASON_FREE_PLAY_IS] = {
    "free_play_is", 3,
    {{"below", "free play is too small"},
     {"within", "free play is in range"},
     {"above", "free play is too large"}},
    /* Any bike: more than two in three are in range. */
    {.11, .72, .17},
    {
        /* Too much play is travel that never reaches the plates. Too little makes it slip, and is
         * the cause of this complaint only now and then. In range is what this cause is not. */
        [REASON_FREE_PLAY] = {.10, .02, .88},
        /* Backed out too far it shows as play at the lever, unless taken up there, which is
         * usual. */
        [REASON_CLUTCH_ADJUST] = {.12, .53, .35},
        /* A cable that loses strands or creeps out of its seat gains play; one that sticks shows
         * none. */
        [REASON_CLUTCH_CABLE] = {.12, .46, .42},
        /* Sponge feels like play. */
        [REASON_CLUTCH_HYDRAULIC] = {.08, .58, .34},
        /* Wear lets the pressure plate sink towards the push rod: play shrinks. */
        [REASON_PLATES] = {.20, .64, .16},
        /* A thicker pack lifts the pressure plate away from the push rod: play grows. */
        [REASON_SPRING_PLATE] = {.07, .62, .31},
    }},

[REASON_FLUID_LEVEL] = {
    "fluid_level", 3,
    {{"low", "the fluid is low"},
     {"right", "the fluid level is right"},
     {"high", "the fluid is too high"}},
    /* Any bike: one in five is off, either way. */
    {.10, .80, .10},
    {
        [REASON_FLUID_LOW] = {.95, .04, .01}, /* that is what it means */
        [REASON_FLUID_HIGH] = {.01, .04, .95}, /* that is what it means */
        [REASON_FLUID_OLD] = {.22, .72, .06}, /* what is never changed is never topped up */
        [REASON_FLUID_WRONG] = {.08, .74, .18}, /* who picks the wrong can reads no mark */
    }},

[REASON_FLUID_CONDITION] = {
    "fluid_condition", 4,
    {{"clean", "the fluid is clean"},
     {"dark", "the fluid is dark"},
     {"milky", "the fluid is milky"},
     {"wrong", "the wrong fluid is in"}},
    /* Any bike: clean two times in three. */
    {.64, .30, .03, .03},
    {
        /* Dark and burnt, or milky with water; seldom clean to the eye. */
        [REASON_FLUID_OLD] = {.05, .80, .13, .02},
        /* Known by smell, feel or the bill; else it just looks fresh. */
        [REASON_FLUID_WRONG] = {.28, .10, .02, .60},
        /* Little fluid does the work of much, and cooks. */
        [REASON_FLUID_LOW] = {.42, .49, .06, .03},
        /* Fresh, mostly. Engine oil that came past the seal darkens it, water fills it up. */
        [REASON_FLUID_HIGH] = {.68, .19, .08, .05},
        /* Lining and heat end up in the fluid. */
        [REASON_PLATES] = {.38, .55, .03, .04},
        /* Rivets and splinters of the plate. */
        [REASON_SPRING_PLATE] = {.48, .46, .03, .03},
    }},

[REASON_LINKAGE_PLAY] = {
    "linkage_play", 2,
    {{"in", "linkage play is in range"}, {"out", "linkage play is too large"}},
    /* Any bike: one in seven has worn joints and shifts well. */
    {.86, .14},
    {
        /* Worn or loose is felt by hand; a misadjusted rod need not have play. */
        [REASON_LINKAGE] = {.14, .86},
        /* What wears the hook wears the joints. */
        [REASON_HOOK] = {.74, .26},
        /* Slack hides where rest is; and rests drift where joints do. */
        [REASON_PAWL] = {.82, .18},
    }},

[REASON_FASTENERS] = {
    "fasteners", 2,
    {{"tight", "linkage fasteners are tight"}, {"loose", "a linkage fastener is loose"}},
    /* Any bike: one in twenty. */
    {.95, .05},
    {
        /* Half of the linkage's troubles are a clamp or a jam nut, the other half wear. */
        [REASON_LINKAGE] = {.50, .50},
        /* A lever that was loose has been working against the arm. */
        [REASON_HOOK] = {.88, .12},
        /* Where one nut worked loose, so may the stem's. */
        [REASON_PAWL] = {.90, .10},
    }},

[REASON_HOOK_LOOK] = {
    "hook_look", 3,
    {{"good", "hook and pin look good"},
     {"worn", "hook or pin is worn"},
     {"bent", "hook or arm is bent"}},
    /* Any bike: the corner of a used hook is never quite sharp, one in sixteen is called worn. */
    {.92, .06, .02},
    {
        [REASON_HOOK] = {.05, .58, .37}, /* seen, unless the light is bad */
        /* Met off centre, hook and pin touch at their corners and wear there. */
        [REASON_PAWL] = {.87, .10, .03},
        /* Metal from the box and rough shifts leave marks. */
        [REASON_GEARBOX] = {.84, .12, .04},
        /* Long use shows in both. */
        [REASON_LINKAGE] = {.87, .09, .04},
    }},

[REASON_THROWS] = {
    "throws", 2,
    {{"even", "the throws were even"}, {"uneven", "the throws were uneven"}},
    /* Any bike: one in five is off centre and shifts well enough. */
    {.80, .20},
    {
        [REASON_PAWL] = {.02, .98}, /* that is what it means; 2 in 100 for the reading */
        /* Wear on one side, or a bend, makes one throw longer. */
        [REASON_HOOK] = {.38, .62},
        /* A rod that pulls the arm from rest makes them uneven as long as it is coupled. */
        [REASON_LINKAGE] = {.66, .34},
        /* A drum that does not sit in its notch puts both pins off. */
        [REASON_GEARBOX] = {.72, .28},
    }},

/* ---- cures: was neutral easy after it was put right? -------------------------------------------
 * A yes all but decides. It is not proof: neutral is sometimes found once with nothing cured, and
 * two things may be put right in one go; hence 5 in 1000 under every other cause. A no leaves room
 * for a setting that was made wrong again. */

[REASON_CURED_BY_FREE_PLAY] = {
    "cured_by_free_play", 2,
    {{"no", "setting free play changed nothing"}, {"yes", "setting free play cured it"}},
    {.995, .005},
    {
        [REASON_FREE_PLAY] = {.08, .92},
        /* The lever can give back what the adjuster takes, for a while. */
        [REASON_CLUTCH_ADJUST] = {.93, .07},
        /* Setting it moves the cable off its bad spot. */
        [REASON_CLUTCH_CABLE] = {.92, .08},
        /* More travel helps a pack that opens badly, a little. */
        [REASON_PLATES] = {.98, .02},
    }},

[REASON_CURED_BY_FLUID] = {
    "cured_by_fluid", 2,
    {{"no", "correcting the fluid changed nothing"}, {"yes", "correcting the fluid cured it"}},
    {.995, .005},
    {
        [REASON_FLUID_LOW] = {.14, .86}, /* topped up; plates that ran dry may have suffered */
        [REASON_FLUID_HIGH] = {.08, .92}, /* drawn off to the mark */
        /* Cured where the fluid was changed; the level alone does not do it. */
        [REASON_FLUID_OLD] = {.45, .55},
        [REASON_FLUID_WRONG] = {.45, .55}, /* the same */
        /* Fresh fluid frees plates that only stuck. */
        [REASON_PLATES] = {.96, .04},
    }},

[REASON_CURED_BY_LINKAGE] = {
    "cured_by_linkage", 2,
    {{"no", "mending the linkage changed nothing"}, {"yes", "mending the linkage cured it"}},
    {.995, .005},
    {
        [REASON_LINKAGE] = {.10, .90},
        /* A rod set anew moves rest: it may centre the pawl by chance. */
        [REASON_PAWL] = {.97, .03},
        /* A tight lever pulls a worn hook a little further. */
        [REASON_HOOK] = {.98, .02},
    }},

[REASON_CURED_BY_CENTRING] = {
    "cured_by_centring", 2,
    {{"no", "centring the pawl changed nothing"}, {"yes", "centring the pawl cured it"}},
    {.995, .005},
    {
        [REASON_PAWL] = {.08, .92},
        /* Centred on what is left of the hook: it may do for a while. */
        [REASON_HOOK] = {.94, .06},
        /* Centring takes up a rod of the wrong length. */
        [REASON_LINKAGE] = {.96, .04},
    }},

/* ---- the dearer checks ----------------------------------------------------------------------- */

[REASON_CLUTCH_KIND] = {
    "clutch_kind", 2,
    {{"cable", "the clutch has a cable"}, {"hydraulic", "the clutch is hydraulic"}},
    /* Judged by the bikes this procedure is for: two in three have a cable. */
    {.66, .34},
    {
        /* There is no such cause without a cable; 1 in 200 for a wrong profile. */
        [REASON_CLUTCH_CABLE] = {.995, .005},
        [REASON_CLUTCH_HYDRAULIC] = {.005, .995}, /* the same, of hydraulics */
        /* Hydraulics take up their own play: it is mostly the cable's trouble. */
        [REASON_FREE_PLAY] = {.82, .18},
    }},

[REASON_IDLE_SPEED] = {
    "idle_speed", 3,
    {{"below", "idle is too low"}, {"within", "idle is in range"}, {"above", "idle is too high"}},
    /* Any bike: one in seven idles high, by taste or by age. */
    {.10, .76, .14},
    {
        [REASON_IDLE] = {.01, .04, .95}, /* that is what it means */
        /* The rider opens the screw against an engine that the drag stalls in gear. */
        [REASON_SPRING_PLATE] = {.08, .70, .22},
    }},

[REASON_CABLE_LOOK] = {
    "cable_look", 3,
    {{"good", "the cable is good"},
     {"frayed", "the cable frays or sticks"},
     {"badly_routed", "the cable is badly routed"}},
    /* Any bike: cables are old, and one in nine shows it. */
    {.89, .07, .04},
    {
        /* Seen or felt; strands may part inside the housing, where nobody looks. */
        [REASON_CLUTCH_CABLE] = {.14, .55, .31},
        /* A cable on its way out is set again and again. */
        [REASON_FREE_PLAY] = {.80, .14, .06},
    }},

[REASON_HYDRAULIC_FEEL] = {
    "hydraulic_feel", 3,
    {{"firm", "the clutch lever is firm"},
     {"spongy", "the clutch lever is spongy"},
     {"sinks", "the clutch lever sinks"}},
    /* Any bike with hydraulics: one in ten is a little soft. */
    {.90, .08, .02},
    {
        /* Sponge is air, sinking is the seal. A slow leak past the seal may still feel firm. */
        [REASON_CLUTCH_HYDRAULIC] = {.12, .56, .32},
    }},

[REASON_ADJUSTER_IS] = {
    "adjuster_is", 3,
    {{"too_few", "adjuster turns are too few"},
     {"right", "adjuster turns are right"},
     {"too_many", "adjuster turns are too many"}},
    /* Any bike: seven in ten are right. */
    {.14, .70, .16},
    {
        /* Backed out too far, the first part of the stroke is lost: drag. Too close slips, and
         * drags only where the plate then tips. In range is what this cause is not. */
        [REASON_CLUTCH_ADJUST] = {.11, .03, .86},
        /* Wear brings the plate closer to the push rod. */
        [REASON_PLATES] = {.24, .62, .14},
        /* A thick pack moves the plate away from it. */
        [REASON_SPRING_PLATE] = {.07, .63, .30},
    }},

[REASON_PACK_IS] = {
    "pack_is", 3,
    {{"good", "plates and stack are good"},
     {"plates_bad", "plates are warped or worn"},
     {"stack_over", "only the stack is over"}},
    /* Any bike: plates of some age; one in seven has one that is out. */
    {.83, .14, .03},
    {
        /* Warp, wear or glaze is measured; sticking leaves little to measure. */
        [REASON_PLATES] = {.10, .86, .04},
        /* The sign of the loose spring plate: every plate in range, the stack over it. */
        [REASON_SPRING_PLATE] = {.04, .10, .86},
        /* Run dry, they warp. */
        [REASON_FLUID_LOW] = {.68, .29, .03},
    }},

[REASON_GEARBOX_LOOK] = {
    "gearbox_look", 2,
    {{"good", "the gearbox looks good"}, {"worn", "gearbox parts are worn"}},
    /* Any bike: any used box shows something. */
    {.84, .16},
    {
        [REASON_GEARBOX] = {.05, .95}, /* with the box open it is seen */
        /* Half-made shifts round the dogs. */
        [REASON_LINKAGE] = {.72, .28},
        [REASON_HOOK] = {.70, .30}, /* the same */
        [REASON_PAWL] = {.78, .22}, /* the same, less */
    }},

/* The cures of the dearer checks follow the rule of the cures above. */

[REASON_CURED_BY_IDLE] = {
    "cured_by_idle", 2,
    {{"no", "setting the idle changed nothing"}, {"yes", "setting the idle cured it"}},
    {.995, .005},
    {
        [REASON_IDLE] = {.06, .94},
        /* Less speed, less drag: mild drag may drop below what is noticed. */
        [REASON_FLUID_HIGH] = {.98, .02},
        [REASON_FLUID_OLD] = {.98, .02}, /* the same */
    }},

[REASON_CURED_BY_HYDRAULIC] = {
    "cured_by_hydraulic", 2,
    {{"no", "bleeding the clutch changed nothing"}, {"yes", "mending hydraulics cured it"}},
    {.995, .005},
    {
        [REASON_CLUTCH_HYDRAULIC] = {.14, .86}, /* a last bubble is easily left in */
        /* Of a hydraulic clutch, wrong travel and a bleed are one job. */
        [REASON_FREE_PLAY] = {.90, .10},
    }},

[REASON_CURED_BY_CABLE] = {
    "cured_by_cable", 2,
    {{"no", "mending the cable changed nothing"}, {"yes", "mending the cable cured it"}},
    {.995, .005},
    {
        [REASON_CLUTCH_CABLE] = {.08, .92},
        /* Play is set whenever the cable was off. */
        [REASON_FREE_PLAY] = {.40, .60},
    }},

[REASON_CURED_BY_ADJUSTER] = {
    "cured_by_adjuster", 2,
    {{"no", "setting the adjuster changed nothing"}, {"yes", "setting the adjuster cured it"}},
    {.995, .005},
    {
        [REASON_CLUTCH_ADJUST] = {.08, .92},
        /* Setting the adjuster starts with a slack cable and ends with setting the play. */
        [REASON_FREE_PLAY] = {.20, .80},
        /* A setting for the pack as it is wins a little travel. */
        [REASON_PLATES] = {.97, .03},
        [REASON_SPRING_PLATE] = {.97, .03}, /* the same */
    }},

[REASON_CURED_BY_FLUID_CHANGE] = {
    "cured_by_fluid_change", 2,
    {{"no", "new fluid changed nothing"}, {"yes", "new fluid cured it"}},
    {.995, .005},
    {
        [REASON_FLUID_OLD] = {.12, .88}, /* varnish may take a second change */
        [REASON_FLUID_WRONG] = {.10, .90}, /* what is left in the linings takes some miles */
        [REASON_FLUID_LOW] = {.14, .86}, /* filled to the mark on the way */
        [REASON_FLUID_HIGH] = {.08, .92}, /* filled to the mark on the way */
        [REASON_PLATES] = {.93, .07}, /* fresh fluid frees plates that only stuck */
    }},

[REASON_CURED_BY_PACK] = {
    "cured_by_pack", 2,
    {{"no", "the new pack changed nothing"}, {"yes", "mending the pack cured it"}},
    {.995, .005},
    {
        [REASON_PLATES] = {.07, .93},
        [REASON_SPRING_PLATE] = {.05, .95},
        /* Putting the pack back sets adjuster and play and fills fresh fluid to the mark: it cures
         * all of these on the way. */
        [REASON_CLUTCH_ADJUST] = {.15, .85},
        [REASON_FREE_PLAY] = {.25, .75},
        [REASON_FLUID_LOW] = {.20, .80},
        [REASON_FLUID_HIGH] = {.20, .80},
        [REASON_FLUID_OLD] = {.20, .80},
        [REASON_FLUID_WRONG] = {.20, .80},
    }},

[REASON_CURED_BY_GEARBOX] = {
    "cured_by_gearbox", 2,
    {{"no", "mending the gearbox changed nothing"}, {"yes", "mending the gearbox cured it"}},
    {.995, .005},
    {
        [REASON_GEARBOX] = {.08, .92},
        /* With the box open, arm and pins are renewed and rest is set. */
        [REASON_HOOK] = {.12, .88},
        [REASON_PAWL] = {.30, .70}, /* rest is set on the way */
    }},
};

/* The checks. Minutes are those of a practised hand with the bike on the lift, putting right what
 * is found at once included where that is part of the check. `finds` is the chance that the check
 * ends the search: it shows the cause, and either cures it or names the part. */
const struct reason_check_row reason_check_table[REASON_CHECK_COUNT] = {
    /* A rule at the lever and a turn at the adjuster. */
    [REASON_CHECK_FREE_PLAY] = {"free_play", "lever free play", 5, true,
        {
            [REASON_FREE_PLAY] = .90,
            [REASON_CLUTCH_CABLE] = .10, /* seen to stick while it is set */
        }},
    /* Plug out, bike upright, top up or draw off. The change is a check of its own. */
    [REASON_CHECK_FLUID] = {"fluid", "fluid level and condition", 8, true,
        {
            [REASON_FLUID_LOW] = .85,
            [REASON_FLUID_HIGH] = .90,
            [REASON_FLUID_OLD] = .15, /* shown; the cure is the change */
            [REASON_FLUID_WRONG] = .15,
        }},
    /* A hand on each joint, a spanner on each nut. */
    [REASON_CHECK_LINKAGE] = {"linkage", "linkage play and fasteners", 8, true,
        {
            [REASON_LINKAGE] = .85,
            [REASON_PAWL] = .02, /* rest moves when a rod is set */
        }},
    /* Strap, lift, third gear, access; both throws, and some rounds of turning. */
    [REASON_CHECK_PAWL] = {"pawl", "pawl centring", 35, false,
        {
            [REASON_PAWL] = .90,
            [REASON_HOOK] = .90, /* seen, and handed over with the part named */
            [REASON_LINKAGE] = .05,
        }},
    /* A look at the tachometer and a turn at the screw. */
    [REASON_CHECK_IDLE] = {"idle", "idle speed", 4, true,
        {
            [REASON_IDLE] = .92,
        }},
    /* Feel, look at reservoir and seals, bleed. */
    [REASON_CHECK_HYDRAULIC] = {"hydraulic", "clutch hydraulics", 30, false,
        {
            [REASON_CLUTCH_HYDRAULIC] = .86,
            [REASON_FREE_PLAY] = .10, /* wrong lever travel of a hydraulic clutch */
        }},
    /* Ends and run of the cable, a drop of oil, full lock both ways. */
    [REASON_CHECK_CABLE] = {"cable", "clutch cable", 10, true,
        {
            [REASON_CLUTCH_CABLE] = .80,
            [REASON_FREE_PLAY] = .60, /* set whenever the cable was off */
        }},
    /* Cover off, slack cable, contact, turns out, lock nut, play. */
    [REASON_CHECK_INTERNAL_ADJUSTER] = {"internal_adjuster", "internal clutch adjuster", 25, false,
        {
            [REASON_CLUTCH_ADJUST] = .90,
            [REASON_FREE_PLAY] = .80, /* the last step sets the play */
        }},
    /* Drain, magnet, the right can, to the mark, a ride round the block. */
    [REASON_CHECK_FLUID_CHANGE] = {"fluid_change", "primary fluid change", 35, false,
        {
            [REASON_FLUID_OLD] = .88,
            [REASON_FLUID_WRONG] = .90,
            [REASON_FLUID_LOW] = .85,
            [REASON_FLUID_HIGH] = .90,
            [REASON_PLATES] = .05, /* plates that only stuck */
        }},
    /* Primary open, pack out, every plate measured, the stack measured. */
    [REASON_CHECK_PACK] = {"pack", "clutch pack", 150, false,
        {
            [REASON_PLATES] = .92,
            [REASON_SPRING_PLATE] = .95,
            [REASON_CLUTCH_ADJUST] = .85, /* set on the way back */
            [REASON_FREE_PLAY] = .75, /* set on the way back */
            [REASON_FLUID_LOW] = .80, /* filled on the way back */
            [REASON_FLUID_HIGH] = .80,
            [REASON_FLUID_OLD] = .80,
            [REASON_FLUID_WRONG] = .80,
        }},
    /* The box out or open: a day. */
    [REASON_CHECK_GEARBOX] = {"gearbox", "gearbox inside", 420, false,
        {
            [REASON_GEARBOX] = .92,
            [REASON_HOOK] = .90, /* in plain view */
            [REASON_PAWL] = .70, /* rest is set on the way back */
        }},
};
/* clang-format on */

double reason_likelihood(enum reason_evidence evidence, enum reason_cause cause, int value)
{
    const struct reason_evidence_row *row = &reason_evidence_table[evidence];
    const double *of = row->of[cause];
    return of[0] > 0 ? of[value] : row->rest[value];
}
