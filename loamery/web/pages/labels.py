"""Names of the fields of records, and of the kinds of record, in plain words."""

from __future__ import annotations

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
    "day": _("Day"),
    "min_temp_c": _("Lowest temperature"),
    "max_temp_c": _("Highest temperature"),
    "rain_mm": _("Rain, mm"),
    "wind_m_s": _("Wind, m/s"),
    "humidity_frac": _("Humidity (0 to 1)"),
    "sun_mj_m2": _("Sun, MJ/m²"),
}
HELP = {
    "kg": _("As received, the bucket taken off."),
    "worms_kg": _("0 when they were never weighed."),
    "uses": _("The plan keeps to these."),
    "storage_weeks": _("Leave empty for the published value."),
    "yield_kg_m2": _("Leave empty for the published typical yield."),
    "area_m2": _("The soil itself, paths left out."),
}
HELP_OF = {
    ("readings", "depth_m"): _("Below the surface; leave empty for the middle."),
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
    "garden": _("Whole garden"),
}
DONE_KINDS = (
    "loads", "readings", "turnings", "waterings", "applications", "feedings", "harvests", "batches", "batch_parts", "prices",
)  # fmt: skip
"""What somebody does or sees on a day, in the order people need it."""
THING_KINDS = (
    "donors",
    "materials",
    "supplies",
    "goods",
    "stores",
    "beds",
    "plantings",
    "soil_values",
    "heaps",
    "worm_beds",
    "weather",
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
SMELLS = {"earthy": _("of earth"), "sour": _("sour"), "ammonia": _("of ammonia"), "rotten": _("rotten")}
ACTIONS = {
    "add": _("added"),
    "edit": _("changed"),
    "remove": _("removed"),
    "restore": _("brought back"),
    "import": _("taken in from a folder"),
}
