"""Names of the fields of records, and of the kinds of record, in plain words."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext_lazy as _

FIELDS = {
    "donor": _("Donor"),
    "material": _("Material"),
    "bed": _("Bed"),
    "heap": _("Place of the heap"),
    "batch": _("Heap"),
    "worm_bed": _("Worm bed"),
    "on": _("Day"),
    "built": _("Day it was built"),
    "emptied": _("Day it was emptied"),
    "planted": _("Sown or planted"),
    "harvested": _("Last harvest"),
    "first": _("First day"),
    "last": _("Last day"),
    "sampled_on": _("Day of sampling"),
    "kg": _("Weight"),
    "water_kg": _("Water added"),
    "compost_kg": _("Compost taken out"),
    "kg_per_week": _("Amount a week"),
    "worms_kg": _("Weight of the worms"),
    "price_per_kg": _("Price per kilogram"),
    "volume_m3": _("Volume"),
    "capacity_m3": _("Holds at most"),
    "area_m2": _("Area"),
    "depth_m": _("Depth"),
    "temp_c": _("Temperature"),
    "feel": _("A handful squeezed feels"),
    "smell": _("It smells"),
    "moisture_frac": _("Moisture, if a sample was dried (0 to 1)"),
    "use": _("How"),
    "crop": _("Crop"),
    "share": _("Share of the bed (0 to 1)"),
    "yield_kg_m2": _("Expected yield, kg on each square metre"),
    "item": _("Crop or material"),
    "seen_at": _("Where it was seen"),
    "photo": _("Photo"),
    "by": _("Who did it"),
    "note": _("Note"),
    "name": _("Name"),
    "kind": _("Kind"),
    "uses": _("What it may be used for"),
    "storage_weeks": _("Keeps, weeks"),
    "distance_km": _("Distance, km one way"),
    "texture": _("Texture of the soil"),
    "bulk_density_kg_m3": _("Bulk density of the dry soil, kg/m³"),
    "quantity": _("Quantity"),
    "value": _("Value as printed"),
    "unit": _("Unit as printed"),
    "extractant": _("Extractant"),
    "lab": _("Laboratory"),
    "file": _("File"),
    "sample": _("Sample"),
    "answers": _("Answers"),
    "accepted": _("Accepted"),
    "removed": _("Removed"),
    "id": _("Short name"),
    "sack_kg": _("Weight of a sack"),
    "price": _("Price"),
    "most": _("Most sacks in a season"),
    "test": _("Test"),
    "day": _("Day"),
    "min_temp_c": _("Lowest temperature"),
    "max_temp_c": _("Highest temperature"),
    "rain_mm": _("Rain, mm"),
    "wind_m_s": _("Wind, m/s"),
    "humidity_frac": _("Humidity (0 to 1)"),
    "sun_mj_m2": _("Sun, MJ/m²"),
    "n_percent": _("N on the label, %"),
    "p2o5_percent": _("P₂O₅ on the label, %"),
    "k2o_percent": _("K₂O on the label, %"),
    "trial": _("Trial"),
    "plot": _("Plot"),
    "treatment": _("Treatment"),
    "treatments": _("Treatments"),
    "beds": _("Beds"),
    "plots": _("Plots"),
    "measured_on": _("Day"),
    "lost": _("Why there is no reading"),
    "question": _("What it is to find out"),
    "design": _("How plots are drawn"),
    "seed": _("Seed of the lots"),
    "control": _("Compared with"),
    "starts": _("First day"),
    "ends": _("Last day"),
    "measured": _("What is read on each plot"),
    "per_m2": _("Compare by square metre"),
    "several": _("Several readings of a plot"),
    "invented": _("Made-up data"),
}
FIELDS_OF = {("trial_readings", "value"): _("Value"), ("trials", "unit"): _("Unit")}
"""Fields that have another name in one kind of record."""
HELP = {
    "kg": _("As received, the bucket taken off."),
    "worms_kg": _("0 when they were never weighed."),
    "uses": _("The plan keeps to these."),
    "storage_weeks": _("Leave empty for the published value."),
    "yield_kg_m2": _("Leave empty for the published typical yield."),
    "area_m2": _("The soil itself, paths left out."),
    "treatments": _("One a line: a short name, =, and what is done. For example: none = No addition"),
    "control": _("Short name of a treatment; leave empty to compare every two."),
    "plot": _("Its number on the map, such as 203."),
}
HELP_OF = {
    ("beds", "depth_m"): _("How deep the soil is worked."),
    ("beds", "texture"): _("Loam when you do not know; a soil test says it."),
    ("beds", "bulk_density_kg_m3"): _("Leave as it is unless it was measured."),
    ("plantings", "share"): _("1 when it takes the whole bed."),
    ("readings", "depth_m"): _("Below the surface; leave empty for the middle."),
    ("trials", "crop"): _("How uneven its plots usually are tells what the trial can see; leave empty for any."),
    ("trial_readings", "treatment"): _("For the eye; may be left empty."),
    ("applications", "depth_m"): _("Of the layer, if it was measured."),
    ("applications", "batch"): _("For compost made here."),
    ("applications", "worm_bed"): _("For its castings."),
}
"""Help that a field needs in one kind of record only."""
KINDS = {
    "loads": _("Load"),
    "readings": _("Reading of a heap"),
    "turnings": _("Turning"),
    "waterings": _("Watering"),
    "applications": _("Spread on a bed"),
    "feedings": _("Feeding of worms"),
    "harvests": _("Harvest"),
    "batches": _("Heap built"),
    "batch_parts": _("What a heap was built from"),
    "prices": _("Price"),
    "trial_readings": _("Reading of a trial's plot"),
    "trials": _("Trial"),
    "fertilisers": _("Fertiliser in the shop"),
    "donors": _("Donor"),
    "materials": _("Material"),
    "supplies": _("What a donor gives"),
    "goods": _("Sold by the sack"),
    "stores": _("In store at the start"),
    "beds": _("Bed"),
    "plantings": _("Planting"),
    "soil_values": _("Line of a soil test"),
    "heaps": _("Place for a heap"),
    "worm_beds": _("Worm bed"),
    "weather": _("Weather of a day"),
    "reports": _("Laboratory report"),
    "test_prices": _("Price of a laboratory test"),
    "garden": _("Whole garden"),
}
DONE_KINDS = (
    "loads", "readings", "turnings", "waterings", "applications", "feedings", "harvests", "batches", "batch_parts", "prices",
    "trial_readings",
)  # fmt: skip
"""What somebody does or sees on a day, in the order people need it."""
THING_KINDS = (
    "donors",
    "materials",
    "supplies",
    "goods",
    "fertilisers",
    "stores",
    "beds",
    "plantings",
    "soil_values",
    "heaps",
    "worm_beds",
    "test_prices",
    "weather",
    "trials",
)
"""What there is in a garden."""
USES = {
    "mulch": _("as mulch on a bed"),
    "dig_in": _("worked into a bed"),
    "heap": _("in a heap"),
    "worm_bed": _("for the worms"),
}
SPREAD = {"mulch": _("left on top, as mulch"), "dig_in": _("worked in")}
HEAP_KINDS = {"bin": _("bin"), "pile": _("free pile"), "tumbler": _("tumbler")}
FEELS = {"dry": _("dry: crumbles"), "moist": _("moist: holds together"), "wet": _("wet: drips")}
DESIGNS = {
    "complete_blocks": _("in blocks, each treatment once"),
    "completely_random": _("all at once, without blocks"),
}
SEVERAL = {"sum": _("are added up"), "mean": _("are averaged")}
SMELLS = {"earthy": _("of earth"), "sour": _("sour"), "ammonia": _("of ammonia"), "rotten": _("rotten")}
ACTIONS = {
    "add": _("added"),
    "edit": _("changed"),
    "remove": _("removed"),
    "restore": _("brought back"),
    "import": _("taken in from a folder"),
}
SETTINGS = {
    "name": _("Name of the garden"),
    "place": _("City or district"),
    "jurisdiction": _("Rules that apply"),
    "units": _("Units of the sheets"),
    "currency": _("Currency of prices"),
    "season_start": _("First day of the season"),
    "season_weeks": _("Weeks that are planned"),
    "bucket_l": _("Size of your bucket, litres"),
    "hours_per_week": _("Hands available, hours a week"),
    "is_public": _("A page for everybody"),
}


def field(kind: str, name: str) -> Any:
    """Return the name of a field of a kind of record."""
    return FIELDS_OF.get((kind, name)) or FIELDS[name]
