"""The May meeting: warm, one shower, and the race that car 64 won."""

from __future__ import annotations

from tests.samples.pages import Laps, Outing, Said, Sheet, Why

TOURER: Sheet = {
    "damper": "SA-3107 | SA-3108 | TW-2241 | TW-2242",
    "build": "A",
    "both_bleed": "9 | 9 | - | -",
    "bump_bleed": "- | - | 12 | 12",
    "rebound_bleed": "- | - | 15 | 15",
    "spring_rate": "110 | 110 | 140 | 140",
    "perch": "18,5 | 18,5 | 6,0 | 6,5",
    "bump_stop": "soft 40 | soft 40 | hard 25 | hard 25",
    "packers": "4 | 4 | 0 | 0",
    "ride_height": "72 | 72 | 80 | 81",
    "camber": "-3,6 | -3,5 | -2,2 | -2,2",
    "toe": "-1,0 | -1,0 | 1,5 | 1,5",
    "caster": "7,2 | 7,0 | - | -",
    "cold_pressure": "1,45 | 1,40 | 1,50 | 1,45",
    "hot_target": "1,90 | 1,85 | 1,85 | 1,80",
}
TOURER_GAS: Sheet = {"gas_pressure": "12,0 | 12,0 | 14,0 | 14,1", "gas_temperature": "24C"}
"""Read once a meeting: a charge is a reading, of its day."""
TOURER_ITEMS: Sheet = {
    "Front bar": "22 mm, hole 2",
    "Rear bar": "hole 3 of 5",
    "Rear wing": "hole 4 of 8",
    "Brake bias": "64 % front",
    "Differential preload": "70 N·m",
}
COUPE: Sheet = {
    "damper": "FP-0611 | FP-0612 | RP-0713 | RP-0714",
    "build": "A",
    "bump_bleed": "12 | 12 | 11 | 11",
    "rebound_bleed": "10 | 10 | 11 | 11",
    "bump_preload": "3 | 3 | 2 | 2",
    "spring_rate": "150 | 150 | 740 lb/in | 740 lb/in",
    "perch": "12 | 12.5 | 9 | 9",
    "bump_stop": "foam 30 | foam 30 | foam 22 | foam 22",
    "packers": "3 | 3 | 2 | 2",
    "ride_height": "58 | 58 | 66 | 66",
    "camber": "-3.2 | -3.2 | -2.4 | -2.4",
    "toe": "-0.8 | -0.8 | 1.2 | 1.2",
    "caster": "8.1 | 8.1 | - | -",
    "cold_pressure": "1.50 | 1.45 | 1.50 | 1.45",
    "hot_target": "1.90 | 1.85 | 1.90 | 1.85",
}
COUPE_GAS: Sheet = {
    "gas_pressure": "16 | 16.1 | 230 psi | 232 psi",
    "gas_temperature": "24 | 24 | 75F | 75F",
}
RACE_DAY_GAS: Sheet = {
    "gas_pressure": "15.9 | 16.0 | 229 psi | 231 psi",
    "gas_temperature": "22 | 22 | 72F | 72F",
}
"""The same filling on Sunday morning, two degrees colder."""
COUPE_ITEMS: Sheet = {
    "Front bar": "28 mm, hole 2 of 4",
    "Rear bar": "hole 3 of 4",
    "Rear wing": "7°",
    "Splitter": "40 mm forward",
    "Brake bias": "57.5 % front",
}

COUPE_QUALIFYING = COUPE | {
    "bump_bleed": "10 | 10 | 11 | 11",
    "rebound_bleed": "8 | 8 | 11 | 11",
}
WET_TOURER = TOURER | {
    "both_bleed": "14 | 14 | - | -",
    "bump_bleed": "- | - | 6 | 6",
    "rebound_bleed": "- | - | 7 | 7",
    "ride_height": "78 | 78 | 86 | 87",
    "cold_pressure": "1,65 | 1,65 | 1,60 | 1,60",
}

SATURDAY: Sheet = {"surface": "dry", "air_pressure": "1004", "humidity": "55"}

OUTINGS = (
    Outing(
        "64 may practice 1", "may", "64", "practice", "1", "2026-05-09 09:20", "Teo Vannick",
        run="1", setup=COUPE,
        read=COUPE_GAS | {
            "hot_pressure": "1.94 | 1.86 | 1.93 | 1.86",
            "tread": "86 82 78 | 84 80 77 | 81 80 78 | 80 79 77",
            "body_temperature": "55 | 54 | 59 | 58",
        },
        head=SATURDAY | {
            "air_temperature": "17", "track_temperature": "25", "tyre_set": "D1", "tyre_age": "0",
            "fuel": "45", "fuel_end": "24", "duration": "100",
        },
        items=COUPE_ITEMS, laps=Laps(13, 94.812),
        words="Set-up from the last test, nothing touched.",
        said=(
            Said("Washes wide when I pick up the throttle, worst at 7.", "exit", "7", -2, 5),
            Said("Slow to answer the first turn of the wheel.", "entry", "2", -1),
        ),
    ),
    Outing(
        "64 may practice 1 run 2", "may", "64", "practice", "1", "2026-05-09 09:48", "Teo Vannick",
        after="64 may practice 1", run="2",
        setup=COUPE,
        read={
            "hot_pressure": "1.94 | 1.87 | 1.93 | 1.87",
            "tread": "87 83 79 | 85 81 78 | 82 80 78 | 81 79 77",
            "body_temperature": "57 | 56 | 61 | 60",
        },
        head=SATURDAY | {
            "air_temperature": "17", "track_temperature": "26", "tyre_set": "D1",
            "tyre_age": "13", "fuel": "24",
        },
        items=COUPE_ITEMS | {"Splitter": "45 mm forward"}, laps=Laps(6, 94.870),
        why=(
            Why(
                "Splitter 5 mm forward",
                "Load on the front at 7, to see whether wings can do it.",
                "no difference",
                "Wide at 7 as before: it is the nose that lifts. Back to 40 mm.",
            ),
        ),
        said=(Said("I cannot tell that anything was changed.", "exit", "7", -2, 5),),
    ),
    Outing(
        "27 may practice 1", "may", "27", "practice", "1", "2026-05-09 10:20", "Ida Kestrup",
        setup=TOURER,
        read=TOURER_GAS | {
            "hot_pressure": "1,92 | 1,84 | 1,86 | 1,79",
            "tread": "92 88 83 | 90 86 82 | 64 66 65 | 63 65 64",
            "body_temperature": "62C | 61C | 52C | 51C",
        },
        head=SATURDAY | {
            "air_temperature": "18", "track_temperature": "27", "tyre_set": "K1", "tyre_age": "0",
            "fuel": "40",
        },
        items=TOURER_ITEMS, laps=Laps(12, 102.655, 0.45), decimal=",",
        said=(
            Said("Rear hops over both kerbs, I have to wait for it.", "kerbs", "4", 1, 5),
            Said("Front is fine. Stays where I put it.", "mid", None, 0),
        ),
    ),
    Outing(
        "64 may practice 2", "may", "64", "practice", "2", "2026-05-09 11:40", "Marla Quintrey",
        after="64 may practice 1", status="aborted",
        setup=COUPE | {
            "damper": "FP-0625 | FP-0612 | RP-0713 | RP-0714",
            "build": "U | A | A | A",
        },
        read={"body_temperature": "31 | 38 | 40 | 40"},
        head=SATURDAY | {
            "air_temperature": "19", "track_temperature": "31", "tyre_set": "D1",
            "tyre_age": "19", "fuel": "45",
        },
        items=COUPE_ITEMS, laps=Laps(3, 97.904, 0.8),
        words="Called in after three laps. Knob of FP-0611 mended at lunch.",
        why=(
            Why(
                "FP-0625 at FL for FP-0611",
                "Rebound knob of FP-0611 jammed at 10. The spare has no sheet: same clicks, "
                "and nobody knows the force.",
                "worse",
                "Left front dives, right front does not. Not a car to learn from.",
            ),
        ),
        said=(Said("Falls onto the left front at every stop.", "braking", None, None, 2),),
    ),
    Outing(
        "27 may practice 2", "may", "27", "practice", "2", "2026-05-09 13:00", "Ida Kestrup",
        after="27 may practice 1", run="1",
        setup=TOURER | {"rebound_bleed": "- | - | 12 | 12"},
        read={
            "hot_pressure": "1,94 | 1,86 | 1,84 | 1,77",
            "tread": "93 89 84 | 91 87 83 | 66 67 66 | 65 66 65",
            "body_temperature": "64C | 63C | 53C | 53C",
        },
        head=SATURDAY | {
            "air_temperature": "21", "track_temperature": "35", "tyre_set": "K1",
            "tyre_age": "12", "fuel": "40", "fuel_end": "23", "duration": "140",
        },
        items=TOURER_ITEMS, laps=Laps(11, 102.318, 0.4), decimal=",",
        why=(
            Why(
                "Rear rebound 3 clicks softer",
                "The wheel should follow the kerb down again.",
                "better",
                "Three tenths on older tyres. Hop is smaller, not gone.",
            ),
        ),
        said=(Said("Better over 4, I can go back to throttle there.", "kerbs", "4", 0, 7),),
    ),
    Outing(
        "27 may practice 2 run 2", "may", "27", "practice", "2", "2026-05-09 13:26", "Ida Kestrup",
        after="27 may practice 2", run="2",
        setup=TOURER | {"rebound_bleed": "- | - | 10 | 10"},
        read={
            "hot_pressure": "1,94 | 1,87 | 1,84 | 1,78",
            "tread": "93 90 85 | 92 88 84 | 66 67 66 | 65 66 65",
            "body_temperature": "65C | 64C | 54C | 54C",
        },
        head=SATURDAY | {
            "air_temperature": "21", "track_temperature": "36", "tyre_set": "K1",
            "tyre_age": "23", "fuel": "23",
        },
        items=TOURER_ITEMS, laps=Laps(6, 102.590, 0.4), decimal=",",
        why=(
            Why(
                "Rear rebound 2 clicks softer again",
                "The hop over 4 is smaller, not gone.",
                "worse",
                "No better over 4, and it floats into 9. Back to 12.",
            ),
        ),
        said=(Said("Rear floats when I lift into 9.", "entry", "9", 1, 5),),
    ),
    Outing(
        "27 may practice 2 run 3", "may", "27", "practice", "2", "2026-05-09 13:43", "Ida Kestrup",
        after="27 may practice 2", run="3",
        setup=TOURER | {"rebound_bleed": "- | - | 12 | 12"},
        read={
            "hot_pressure": "1,95 | 1,87 | 1,85 | 1,78",
            "tread": "94 90 85 | 92 88 84 | 67 68 67 | 66 67 66",
            "body_temperature": "65C | 64C | 54C | 54C",
        },
        head=SATURDAY | {
            "air_temperature": "21", "track_temperature": "36", "tyre_set": "K1",
            "tyre_age": "29", "fuel": "55",
        },
        items=TOURER_ITEMS, laps=Laps(9, 102.880, 0.3, 0.03), decimal=",",
        words="Full tank, to see the tyres over a stint.",
        said=(Said("Even to the end. Lazier with the fuel, nothing else.", "", None, 0, 7),),
    ),
    Outing(
        "64 may practice 3", "may", "64", "practice", "3", "2026-05-09 14:10", "Teo Vannick",
        after="64 may practice 1", run="1",
        setup=COUPE | {"bump_bleed": "12 | 12 | 13 | 13"},
        read={
            "hot_pressure": "1.95 | 1.87 | 1.95 | 1.88",
            "tread": "89 84 79 | 86 82 78 | 84 82 80 | 83 81 79",
            "body_temperature": "58 | 57 | 63 | 62",
        },
        head=SATURDAY | {
            "air_temperature": "22", "track_temperature": "38", "tyre_set": "D1",
            "tyre_age": "22", "fuel": "45", "fuel_end": "23", "duration": "50",
        },
        items=COUPE_ITEMS, laps=Laps(12, 94.790),
        why=(
            Why(
                "Rear bump 2 clicks softer",
                "More squat, to see whether the exit at 7 is the rear pushing the front.",
                "no difference",
                "Same lap, same words. It is the front. Back to 11.",
            ),
        ),
        said=(Said("Still washes wide at 7.", "exit", "7", -2, 5),),
    ),
    Outing(
        "64 may practice 3 run 2", "may", "64", "practice", "3", "2026-05-09 14:36", "Teo Vannick",
        after="64 may practice 1", run="2",
        setup=COUPE,
        read={
            "hot_pressure": "1.96 | 1.88 | 1.95 | 1.89",
            "tread": "90 85 80 | 87 83 79 | 85 83 80 | 84 82 79",
            "body_temperature": "59 | 58 | 64 | 63",
        },
        head=SATURDAY | {
            "air_temperature": "22", "track_temperature": "38", "tyre_set": "D1",
            "tyre_age": "34", "fuel": "22",
        },
        items=COUPE_ITEMS, laps=Laps(5, 94.910),
        words="Rear bump back to 11 before the tyres are done.",
        said=(Said("The same car as before lunch.", "", None, -1, 5),),
    ),
    Outing(
        "64 may qualifying", "may", "64", "qualifying", "1", "2026-05-09 16:00", "Teo Vannick",
        after="64 may practice 1",
        setup=COUPE_QUALIFYING,
        read={
            "hot_pressure": "1.93 | 1.86 | 1.92 | 1.85",
            "tread": "90 87 84 | 88 86 83 | 84 83 80 | 83 82 79",
            "body_temperature": "54 | 54 | 58 | 58",
        },
        head=SATURDAY | {
            "air_temperature": "22", "track_temperature": "36", "tyre_set": "D2", "tyre_age": "0",
            "fuel": "25", "fuel_end": "14", "duration": "50", "result": "P2",
        },
        items=COUPE_ITEMS, laps=Laps(7, 93.402, 0.3, 0.05),
        why=(
            Why(
                "Front bump and rebound 2 clicks harder",
                "Hold the nose down on throttle (rebound) and answer sooner (bump).",
                "better",
                "Turn 7 flat a car length earlier. New tyres are worth most of the lap time.",
            ),
        ),
        said=(
            Said("Nose stays down. I can use all of the exit at 7.", "exit", "7", 0, 8),
            Said("Turns when I turn.", "entry", "2", 0),
        ),
    ),
    Outing(
        "27 may qualifying", "may", "27", "qualifying", "1", "2026-05-09 16:30", "Ida Kestrup",
        after="27 may practice 2",
        setup=TOURER | {"both_bleed": "7 | 7 | - | -", "rebound_bleed": "- | - | 12 | 12"},
        read={
            "hot_pressure": "1,91 | 1,83 | 1,81 | 1,75",
            "tread": "94 91 87 | 92 89 86 | 64 65 64 | 63 64 63",
            "body_temperature": "60C | 59C | 50C | 50C",
        },
        head=SATURDAY | {
            "air_temperature": "22", "track_temperature": "34", "tyre_set": "K2", "tyre_age": "0",
            "fuel": "22", "result": "P6",
        },
        items=TOURER_ITEMS, laps=Laps(7, 101.420, 0.3, 0.06), decimal=",",
        why=(
            Why(
                "Front 2 clicks harder, both directions at once",
                "Less dive into 2.",
                "no difference",
                "Flatter under braking, nervous over the kerbs. Not for the race.",
            ),
        ),
        said=(Said("Good on the brakes. Skips on the inside kerb.", "kerbs", "4", -1, 6),),
    ),
    Outing(
        "64 may warm-up", "may", "64", "warm-up", "1", "2026-05-10 09:00", "Marla Quintrey",
        after="64 may qualifying",
        setup=COUPE_QUALIFYING,
        read={
            "hot_pressure": "1.90 | 1.83 | 1.90 | 1.83",
            "tread": "82 81 80 | 80 79 79 | 79 78 76 | 78 77 75",
            "body_temperature": "50 | 49 | 54 | 54",
        },
        head={
            "surface": "dry", "air_temperature": "16", "track_temperature": "21",
            "humidity": "68", "air_pressure": "998", "tyre_set": "D2", "tyre_age": "7",
            "fuel": "30", "duration": "15",
        },
        items=COUPE_ITEMS | {"Front bar": "28 mm, hole 3 of 4"}, laps=Laps(6, 94.655, 0.4),
        why=(
            Why(
                "Front bar one hole stiffer",
                "Try the bar on top of the dampers.",
                "worse",
                "Front skates in the middle of every turn. Bar back to hole 2.",
            ),
        ),
        said=(Said("Front gives up in the middle, everywhere.", "mid", None, -2, 4),),
    ),
    Outing(
        "27 may race", "may", "27", "race", "1", "2026-05-10 12:30", "Ida Kestrup",
        after="27 may practice 2",
        setup=WET_TOURER,
        read={
            "hot_pressure": "1,78 | 1,77 | 1,70 | 1,69",
            "tread": "41 40 38 | 40 39 38 | 33 33 32 | 33 32 32",
            "body_temperature": "37C | 37C | 32C | 32C",
        },
        head={
            "surface": "wet", "air_temperature": "14", "track_temperature": "16",
            "humidity": "94", "air_pressure": "996", "tyre_set": "W1", "tyre_age": "0",
            "fuel": "55", "result": "P4",
        },
        items=TOURER_ITEMS | {"Front bar": "off", "Rear bar": "hole 1 of 5",
                              "Rear wing": "hole 7 of 8", "Brake bias": "60 % front"},
        laps=Laps(14, 117.905, 0.9, -0.01), decimal=",",
        words="Shower at 12:10. All four softer on the grid.",
        why=(
            Why(
                "Rain set-up: front 5 clicks softer, rear 6 bump and 5 rebound softer, up 6 mm",
                "Slow weight transfer, standing water at 9.",
                "better",
                "From sixth to fourth. Rear could take a click of rebound more.",
            ),
        ),
        said=(Said("Calm. Rear floats a little when I lift.", "entry", "9", 1, 7),),
        keep=(
            "Averholme, rain",
            "Soft all round, front bar off. Start from here when water stands at 9, with a click "
            "or two more rear rebound.",
            "P4 from sixth",
        ),
    ),
    Outing(
        "64 may race", "may", "64", "race", "1", "2026-05-10 16:00", "Teo Vannick",
        after="64 may qualifying",
        setup=COUPE_QUALIFYING | {"cold_pressure": "1.48 | 1.43 | 1.48 | 1.43"},
        read=RACE_DAY_GAS | {
            "hot_pressure": "1.95 | 1.88 | 1.95 | 1.88",
            "tread": "88 85 82 | 86 84 81 | 86 85 82 | 85 84 81",
            "body_temperature": "60 | 59 | 66 | 65",
        },
        head={
            "surface": "dry", "air_temperature": "20", "track_temperature": "30",
            "humidity": "60", "air_pressure": "999", "tyre_set": "D2", "tyre_age": "13",
            "fuel": "62", "fuel_end": "31", "result": "won",
        },
        items=COUPE_ITEMS, laps=Laps(19, 94.037, 0.28, 0.02),
        words="Dry again from 14:30.",
        said=(
            Said("Same car from first lap to last. Leave it alone.", "", None, 0, 9,
                 files=("64-D2-wear.svg",)),
            Said("Still the best car out of 7.", "exit", "7", 0),
        ),
        keep=(
            "Averholme, dry race",
            "Won from second. Front rebound holds the nose down out of 7; tyres even to the end. "
            "Warm day: track 30 °C.",
            "won, 1:34.037",
        ),
    ),
)  # fmt: skip
