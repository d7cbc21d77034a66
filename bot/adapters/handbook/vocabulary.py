"""The closed word lists of species files: regions, nest habits, hazards and flags of regulation.

Flags of regulation are signposts to an authority, never a statement that something is allowed.
"""

from __future__ import annotations

REGIONS = frozenset({"Palearctic", "Nearctic", "Neotropical", "Afrotropical", "Indomalayan", "Australasian"})

HEMISPHERES = frozenset({"north", "south"})

NEST_HABITS = frozenset(
    {
        "acorn_twig",
        "carton",
        "dead_wood",
        "fungus_garden",
        "leaf_litter",
        "leaf_woven",
        "moss",
        "rock_crevice",
        "silk_nest",
        "soil",
        "thatch_mound",
        "twig",
        "wall_cavity",
    }
)

HAZARDS = frozenset({"bite", "chemical_defence", "formic_spray", "sting", "sting_mild"})

REGULATION = {
    "AU_ERADICATION": "target of an eradication programme in Australia",
    "AU_ERADICATION_SOME": "some species are targets of an eradication programme in Australia",
    "AU_PRIORITY": "among (or, for a genus, containing one of) the six tramp ants Australia ranks first",
    "AU_STATE_RULES": "Australian states have wildlife and biosecurity rules of their own",
    "CH_PROTECTED": "protected in Switzerland",
    "DE_CH_PROTECTED_SOME": "some species are protected in Germany or Switzerland",
    "DE_PROTECTED": "specially protected in Germany",
    "EU_MUNICIPAL_CONTROL_SOME": "European towns run control campaigns",
    "EU_OTHER_NATIONAL": "protected in more European states; ask there",
    "EU_UNION_LIST_2022": "on the Union list since Implementing Regulation (EU) 2022/1203",
    "EU_UNION_LIST_2025_UNVERIFIED": "perhaps on the Union list since 2025; not verified",
    "EU_UNION_LIST_SOME": "some species are on the Union list",
    "INVASIVE_SOME": "invasive populations are known",
    "ISSG100": "counted among the hundred worst invasive species",
    "ISSG100_SOME": "some species are counted among the hundred worst invasive species",
    "JP_EMERGENCY_2023": "Japan asks for urgent action since 2023",
    "JP_IAS": "designated as invasive alien species in Japan",
    "JP_IAS_SOME": "some species are designated as invasive alien species in Japan",
    "KE_EXPORT": "export from Kenya without a licence was prosecuted",
    "KE_EXPORT_SOME": "export of some species from Kenya without a licence was prosecuted",
    "PLANT_PEST": "treated as a pest of crops; imports are usually refused",
    "QLD_CAT1": "category 1 restricted matter in Queensland",
    "QLD_CAT1_SOME": "some species are category 1 restricted matter in Queensland",
    "QLD_CAT3": "category 3 restricted matter in Queensland",
    "US_FEDERAL_QUARANTINE": "under the federal imported fire ant quarantine of the United States",
}
"""Flag -> what it points at."""
