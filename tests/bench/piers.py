"""A made-up library of any size: piers with lamps on a regulated supply."""

import random

COLOURS = ["red", "yellow", "green", "blue", "warm white"]
SERIES = [270, 330, 390, 470, 560, 680, 820, 1000, 1200, 1500]


def pier(index, lamps, chance):
    """A description: lamps with their resistors on 5 V, from a supply of some voltage."""
    volts = chance.choice([8, 9, 10, 12])
    parts = [
        f'jack = {{ kind = "dc-supply", voltage = "{volts} V", current = "2 A" }}',
        'bulk = { kind = "capacitor", value = "330nF", rated = "50 V" }',
        'reg = { kind = "regulator", type = "7805", heatsink = "10 K/W" }',
        'hold = { kind = "capacitor", value = "10uF", rated = "16 V" }',
    ]
    rail = ["reg.out", "hold.a"]
    ground = ["jack.minus", "bulk.b", "reg.common", "hold.b"]
    nets = []
    for k in range(lamps):
        ohms = chance.choice(SERIES)
        parts.append(
            f'r{k} = {{ kind = "resistor", value = "{ohms} ohm", power = "0.25 W" }}'
        )
        parts.append(f'l{k} = {{ kind = "led", colour = "{chance.choice(COLOURS)}" }}')
        rail.append(f"r{k}.a")
        ground.append(f"l{k}.cathode")
        nets.append(f'lamp{k} = ["r{k}.b", "l{k}.anode"]')

    def names(pins):
        return "[" + ", ".join(f'"{pin}"' for pin in pins) + "]"

    return "\n".join(
        [f'title = "Pier {index}, made up"', "[parts]"]
        + parts
        + ["[nets]", 'inlet = ["jack.plus", "bulk.a", "reg.in"]']
        + [f"rail = {names(rail)}", f"ground = {names(ground)}"]
        + nets
        + [
            "[[expect]]",
            'net = "rail"',
            'voltage = { nominal = "5 V", within = "5%" }',
            "",
        ]
    )


def make_library(folder, count, lamps, seed=20261125):
    chance = random.Random(seed)
    folder.mkdir()
    for k in range(count):
        (folder / f"pier-{k:05}.toml").write_text(pier(k, lamps, chance))
