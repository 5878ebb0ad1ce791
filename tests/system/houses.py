"""The houses of the system tests: Tern Bank as shipped, and the small parts of it that tests need. All are settings as text,
with places for the broker's {url}, the {store} and, except in the shipped one, {more}."""
from programs import ROOT

SITE = """\
site:
  name: NAME
  latitude: 52.2
  longitude: -2.1
  time_zone: Europe/London
broker:
  url: {url}
"""
STORE = """\
store:
  path: {store}
  durability: process
"""
# Time comes from the readings: a season takes seconds.
PLAYED = "clock:\n  time: readings\n"
# For machines without a visible time service, such as containers.
TRUSTED = "clock:\n  trust_machine: true\n"
FEED = """\
waters:
  rain:
    ec: 0.05
recipes:
  growth:
    label: 15-5-15
    injector_ratio: 100
    ec_per_100ppm_n: 0.65
    target_ppm_n: 100
"""


def sensor(name, topic, humidity=True):
    """A sensor that sends JSON with its time."""
    humid = "    humidity: /rh\n" if humidity else ""
    return f"  {name}:\n    topic: {topic}\n    form: json\n    temperature: /t\n{humid}    time: /time\n"


def number(name, topic):
    """A sensor that sends only its temperature."""
    return f"  {name}:\n    topic: {topic}\n    form: number\n    quantity: temperature\n"


def any_sensor(humidity=False):
    """Sensors that each send to house/<name>/air."""
    return sensor('"{{1}}"', "house/+/air", humidity)


def bench(name, group, *sensors):
    return f"  {name}:\n    group: {group}\n    sensors: [{', '.join(sensors)}]\n"


EAST_PUMP = "  east:\n    benches: [east]\n"


def house(sensors, benches, pumps=EAST_PUMP, name="testing", broker="", sections=""):
    """`broker`: further lines of that section; `sections`: whole further sections."""
    clock = "" if "clock:\n" in sections else TRUSTED
    return f"{SITE.replace('NAME', name)}{broker}{STORE}{clock}{sections}sensors:\n{sensors}benches:\n{benches}pumps:\n{pumps}{{more}}"


SMALL = house(sensor("east-air", "house/east/air") + number("west-air", "house/west/air"),
              bench("east", "intermediate", "east-air") + bench("west", "warm", "west-air"))


def tern_bank():
    """config/tern-bank.yaml with places for the broker's address and the store."""
    lines = []
    for line in (ROOT / "config" / "tern-bank.yaml").read_text().replace("{", "{{").replace("}", "}}").splitlines():
        if line.startswith("  url:"):
            line = "  url: {url}"
        elif line.startswith("  path:"):
            line = "  path: {store}"
        lines.append(line)
    text = "\n".join(lines) + "\n"
    assert "{url}" in text and "{store}" in text
    return text


def bay(number):
    return f"bay-{number:05d}"


def many(benches, sections=""):
    """This many benches, each with its own sensor and pump."""
    names = [bay(number) for number in range(1, benches + 1)]
    return house(any_sensor(), "".join(bench(name, "intermediate", name) for name in names),
                 "".join(f"  {name}:\n    benches: [{name}]\n" for name in names), sections=sections)
