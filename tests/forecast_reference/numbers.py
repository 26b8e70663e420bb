"""The numbers that all species share, each with its source or the word assumption; species has the others."""

OUT_MEDIAN_DAYS, OUT_LOG_SPREAD = 0.7, 0.6  # assumption
Q10_MEDIAN, Q10_LOG_SPREAD = 2.4, 0.10  # borrowed from other warm-water fish: 2.2 to 2.8
OFFSET_C_COVERED, OFFSET_C_UNCOVERED = 0.3, 0.7  # assumption
SHOWS_CHANCE = 0.75  # assumption
EARLY_LOSS_MEAN_DAYS = 2.0  # assumption
EARLY_LOSS_WORTH_BROODS = 4.0  # assumption: what the profile's chance of an early loss is worth
# Dhaneesh et al. (Amphiprion akallopisos): 0 to 3 h after lights-out.
HATCH_AFTER_DARK_DAYS = 3.0 / 24.0

COURTSHIP_CHANCE, COURTSHIP_DAYS = 0.8, 1.5  # assumption
LOOK_BACK_DAYS = 30.0
ONE_LOOK_DAYS = 3.0 / 24.0
BRIDGED_GAP_DAYS = 1.0
CATCH_FITS, CATCH_MISFITS = 0.999, 0.001  # assumption

OUTCOMES = {
    "mouth": ("full", "smaller", "normal"),
    "clutch": ("there", "gone"),
    "eggs": ("orange", "turning", "silver", "none"),
    "tails": ("seen", "perhaps", "none"),
    "food": ("ate", "spat", "ignored"),
    "loose_fry": ("seen", "none"),
}

# What catching now saves of the young in each state; assumptions, set by the keeper.
SAVED_EGGS, SAVED_EYED, SAVED_HATCHING = 0.05, 0.10, 0.95
SAVED_FREE = {"others": 0.10, "alone": 0.80}
NIGHTS, NIGHT_DELAY_MINUTES = 21, 60
NO_GAIN, NOTHING_LEFT = 0.005, 0.02
