"""The numbers of the model for the Banggai cardinalfish, each with its source or the word assumption."""

import math

REFERENCE_C = 26.5  # assumption: mid of the captive range
HATCH_MEDIAN_DAYS = 19.0  # Vagelli 1999; Sugama 2008: 18 to 19 d
HATCH_LOG_SPREAD = math.hypot(0.06, 0.05, 0.06)  # books, male, brood: assumption
SILVER_RATIO, SILVER_LOG_SPREAD = 0.75, 0.10  # assumption
# Share of the households, median days in the mouth, log-spread of the household's centre.
# Sugama 2008: 3 to 4 d; Vagelli 1999: about 10 d.  The shares and spreads are assumptions.
MOUTH_REGIMES = ((0.75, 3.5, 0.35), (0.25, 9.5, 0.20))
MOUTH_MALE_BROOD_LOG_SPREAD = math.hypot(0.15, 0.20)  # assumption
OUT_MEDIAN_DAYS, OUT_LOG_SPREAD = 0.7, 0.6  # assumption
Q10_MEDIAN, Q10_LOG_SPREAD = 2.4, 0.10  # borrowed from other warm-water fish: 2.2 to 2.8
OFFSET_C_COVERED, OFFSET_C_UNCOVERED = 0.3, 0.7  # assumption
SHOWS_CHANCE = 0.75  # assumption
EARLY_LOSS_MEAN_DAYS = 2.0  # assumption
# Okuda and Yanagisawa 1996 (proxy species): 47 of 361 within a day, 17 to 18 % in all.
EARLY_LOSS_CHANCE = {True: 0.15, False: 0.40}
LOSS_PER_DAY = 0.005  # assumption

COURTSHIP_CHANCE, COURTSHIP_DAYS = 0.8, 1.5  # assumption
LOOK_BACK_DAYS = 30.0
ONE_LOOK_DAYS = 3.0 / 24.0
BRIDGED_GAP_DAYS = 1.0
CATCH_FITS, CATCH_MISFITS = 0.999, 0.001  # assumption

OUTCOMES = {
    "mouth": ("full", "smaller", "normal"),
    "eggs": ("orange", "turning", "silver", "none"),
    "tails": ("seen", "perhaps", "none"),
    "food": ("ate", "spat", "ignored"),
    "loose_fry": ("seen", "none"),
}

# What catching now saves of the young in each state; assumptions, set by the keeper.
SAVED_EGGS, SAVED_EYED = 0.05, 0.10
SAVED_FREE = {"others": 0.10, "alone": 0.80}
NIGHTS, NIGHT_DELAY_MINUTES = 21, 60
NO_GAIN, NOTHING_LEFT = 0.005, 0.02
