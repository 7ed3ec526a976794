"""The tables of woods and dressing against figures printed elsewhere."""

from __future__ import annotations

import pytest

from strakewright.tables import Figure, all_species, care_of, dressed_quarters, species, species_names


# Wood Handbook GTR-190 table 13-5 and 4-3, as printed.
@pytest.mark.parametrize(
    ("name", "radial", "tangential"),
    [("white ash", 0.00169, 0.00274), ("yellow birch", 0.00256, 0.00338), ("black locust", 0.00158, 0.00252)],
)
def test_movement_as_printed(name: str, radial: float, tangential: float) -> None:
    wood = species(name)
    assert wood.move_radial == Figure(radial, "verified")
    assert wood.move_tangential == Figure(tangential, "verified")


def test_movement_follows_from_shrinkage_for_domestic_woods() -> None:
    """Derived: C = 1 / (100 F / S - F + 10) is formula 13-3 at 10 %; group rows are no single wood."""
    tried = 0
    for wood in all_species().values():
        if wood.gravity_basis == "green" or wood.name in ("white oak", "red oak"):
            continue
        for shrink, move in (
            (wood.shrink_radial, wood.move_radial),
            (wood.shrink_tangential, wood.move_tangential),
        ):
            assert shrink is not None
            assert move is not None
            reckoned = 1 / (100 * wood.saturation / shrink.value - wood.saturation + 10)
            assert reckoned == pytest.approx(move.value, abs=1.1e-5), wood.name
            tried += 1
    assert tried >= 36


def test_density_of_domestic_woods() -> None:
    """Wood Handbook ch. 4: density = 1000 G (1 + x/100); gravity 0.40 at 12 % is printed as 448 kg/m3."""
    assert species("Sitka spruce").density == Figure(448.0, "derived")
    for wood in all_species().values():
        if wood.gravity_basis == "12 %":
            assert wood.gravity is not None
            assert wood.density is not None
            assert wood.density.value == pytest.approx(wood.gravity.value * 1120, abs=0.6)


def test_what_is_only_remembered_says_so() -> None:
    sapele = species("sapele")
    assert sapele.strength is not None
    assert sapele.strength.status == "memory"
    assert sapele.move_radial is None  # table 13-5 has no row for it


def test_a_wood_goes_by_several_names() -> None:
    assert species("BALD cypress") is species("baldcypress") is species("cypress")
    assert species("white_ash").kind == "hardwood"
    assert len({name.casefold() for name in species_names()}) == len(species_names())
    with pytest.raises(KeyError):
        species("oak")


def test_surfaced_thickness_of_quarters() -> None:
    """Grading standard: 4/4 dresses to 13/16 in, 5/4 to 1 1/16 in, 8/4 to 1 3/4 in."""
    thickness = dressed_quarters()
    assert (thickness[25.4], thickness[31.75], thickness[50.8]) == (20.6375, 26.9875, 44.45)
    assert all(dressed < rough for rough, dressed in thickness.items())


def test_breaking_strain() -> None:
    """White ash: 103 MPa over 12 000 MPa is 0.86 %; every wood of the table has both figures."""
    assert all(wood.breaking_strain for wood in all_species().values())
    assert species("white ash").breaking_strain == pytest.approx(0.0086, abs=5e-5)


def test_every_wood_says_how_it_lasts_and_glues() -> None:
    """From memory, after the groups of decay resistance of the Wood Handbook: locust and teak last, ash rots fast."""
    for name in all_species():
        care = care_of(name)
        assert 1 <= care.durability <= 5
        assert care.gluing
        assert care.care
    assert care_of("white ash").durability == 5
    assert "rots fast" in care_of("white ash").care
    assert care_of("black locust").durability == care_of("teak").durability == 1
    assert care_of("red oak").durability > care_of("white oak").durability
