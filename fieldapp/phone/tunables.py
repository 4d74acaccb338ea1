"""Every threshold of the phone, with its unit.

Rule 1: a number that could be tuned with real gloves in real rain stands here and nowhere else.
All are common practice, no source, unless a line says otherwise.
"""

#: A touch shorter than this is a drop or a brush; beside a hold it is let pass. [ms]
PRESS_MIN_MS = 80
#: A touch longer than this is a palm or a wet sleeve; hold keys apart. [ms]
PRESS_MAX_MS = 2000
#: Slow keys, and every key while the rain guard is on. [ms]
SLOW_PRESS_MS = 400
#: HELP, END OUTING, THROW. [ms]
HOLD_MS = 2000
#: A key is deaf for so long after it was pressed. [ms]
REARM_MS = 400
#: Two bags on purpose lie at least this far apart. [ms]
BAG_REARM_MS = 700
#: The main key ticks here; let go later, it is half a bag. [ms]
HALF_MS = 1000
#: SAVE is deaf for so long after CHECK has opened. [ms]
SAVE_ARMS_MS = 700
#: A contact so long without an event has lost its end: it no longer spoils the next one. [s]
LOST_S = 10.0
#: How far a contact may wander. [dp]
DRIFT_DP = 24.0
#: How far beside its key a contact may end. [dp]
REACH_DP = 16.0
#: So many refused contacts within so long mean rain.
WET_REJECTS = 4
WET_WITHIN_S = 5.0
#: How long the guard lasts after the last such burst. [s]
RAIN_GUARD_S = 300.0

#: A key shows that it was pressed for so long. [s]
INVERT_S = 0.15
#: How long a note on what was just saved stays. [s]
SAID_S = 5.0
#: Lists and the pages of MORE and DAY go back to the work after so long untouched. [s]
IDLE_BACK_S = 60.0
#: What is shown is computed anew this often. [s]
REFRESH_S = 0.5
#: A failed write is tried again this often. [s]
RETRY_S = 2.0
#: The signs of trouble come again this often. [s]
TROUBLE_EVERY_S = 10.0

#: A fix up to this radius is called good. [m]
FIX_GOOD_M = 8.0
#: Beyond it the band says to wait a little. [m]
FIX_WEAK_M = 15.0
#: A fix is as good as live up to this age. [s]
FIX_FRESH_S = 10.0
#: Ground that is not ready is told after so long inside it, once a cell in so long. [s]
GROUND_AFTER_S = 10.0
GROUND_AGAIN_S = 600.0

#: Charge left at which the strip turns yellow, asks to hand over, and turns red. [%]
BATTERY_PCT = (30, 15, 5)
#: Room left below which photos stop, and below which the strip turns red. [MB]
STORAGE_MB = (200.0, 50.0)
#: A clock so far from the satellites' is called wrong. [s]
CLOCK_OFF_S = 60.0
#: Records that wait for longer than this turn the strip yellow. [days]
UNSENT_OLD_DAYS = 3
