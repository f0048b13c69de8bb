//! Sails; the areas are those of triangles and trapezia.

use super::forms::{box_hull, close};
use crate::floating::{
    Area, Body, FloatingError, LateralPart, Rig, Sail, polygon, polygon_below, sail_area_displacement,
    sail_area_wetted_surface,
};

fn sail(name: &str, corners: &[[f64; 2]]) -> Sail {
    Sail { name: name.to_string(), corners: corners.to_vec() }
}

/// Half base by height; the centre of a triangle is the mean of its corners.
#[test]
fn a_triangular_sail_is_half_base_by_height() {
    let jib = polygon(&[[100.2, 0.9], [101.8, 0.7], [101.5, 4.0]]).unwrap();
    close(jib.centre[0], (100.2 + 101.8 + 101.5) / 3.0, 1e-12);
    close(jib.centre[1], (0.9 + 0.7 + 4.0) / 3.0, 1e-12);
    let right = polygon(&[[0.0, 0.0], [0.0, 3.0], [-4.0, 0.0]]).unwrap();
    assert_eq!(right.area, 6.0);
    let other_way = polygon(&[[-4.0, 0.0], [0.0, 3.0], [0.0, 0.0]]).unwrap();
    assert_eq!(other_way.area, 6.0);
    close(other_way.centre[0], right.centre[0], 1e-12);
}

#[test]
fn a_rigs_centre_of_effort_is_that_of_its_sails_by_area() {
    let rig = Rig {
        name: "lug and jib".to_string(),
        sails: vec![
            sail("lug", &[[2.0, 1.0], [4.0, 1.0], [4.0, 4.0], [2.0, 4.0]]),
            sail("jib", &[[0.0, 1.0], [2.0, 1.0], [2.0, 4.0]]),
        ],
    };
    let effort = rig.effort().unwrap();
    assert_eq!(effort.area, 9.0);
    close(effort.centre[0], (6.0 * 3.0 + 3.0 * 4.0 / 3.0) / 9.0, 1e-12);
    close(effort.centre[1], (6.0 * 2.5 + 3.0 * 2.0) / 9.0, 1e-12);
    close(rig.lead(effort.centre[0] + 0.5, 5.0).unwrap(), 0.1, 1e-12);
}

#[test]
fn a_keel_adds_to_the_profile() {
    let hull = Area { area: 2.0, centre: [2.0, 0.3] };
    let keel = polygon(&[[2.0, -0.2], [4.0, -0.2], [4.0, 0.0], [2.0, 0.0]]).unwrap();
    let both = Area::of_all([hull, keel]);
    close(both.area, 2.4, 1e-12);
    close(both.centre[0], (2.0 * 2.0 + 0.4 * 3.0) / 2.4, 1e-12);
}

/// A trapezium cut at half its height, and a rectangle.
#[test]
fn what_stands_above_the_water_does_not_grip_it() {
    let rudder = [[0.0, -1.0], [1.0, -1.0], [1.0, 1.0], [0.0, 1.0]];
    let wet = polygon_below(&rudder, 0.25).unwrap().unwrap();
    close(wet.area, 1.25, 1e-12);
    close(wet.centre[1], -0.375, 1e-12);
    let board = polygon_below(&[[0.0, 1.0], [2.0, 1.0], [1.0, -1.0]], 0.0).unwrap().unwrap();
    close(board.area, 0.5, 1e-12);
    assert_eq!(polygon_below(&rudder, -2.0).unwrap(), None);
    close(polygon_below(&rudder, 9.0).unwrap().unwrap().area, 2.0, 1e-12);
    assert!(polygon_below(&[[0.0, 0.0], [1.0, 1.0], [1.0, 0.0], [0.0, 1.0]], 0.5).is_err());
}

#[test]
fn the_lateral_plane_is_the_hulls_profile_and_what_hangs_below_it() {
    let body = Body::new(&box_hull(4.0, 1.0, 0.6));
    let board =
        LateralPart { name: "board".into(), corners: vec![[1.0, 0.0], [2.0, 0.0], [2.0, -1.0], [1.0, -1.0]] };
    let dry = LateralPart { name: "mast".into(), corners: vec![[1.0, 1.0], [2.0, 1.0], [2.0, 2.0]] };
    let found = body.lateral_plane(0.25, &[board, dry]).unwrap();
    assert_eq!(found.iter().map(|(name, _)| name.as_str()).collect::<Vec<_>>(), ["hull", "board"]);
    let whole = Area::of_all(found.into_iter().map(|(_, area)| area));
    close(whole.area, 2.0, 1e-12);
    close(whole.centre[0], (2.0 + 1.5) / 2.0, 1e-12);
    close(whole.centre[1], (0.125 - 0.5) / 2.0, 1e-12);
    let flat = LateralPart { name: "skeg".into(), corners: vec![[0.0, 0.0], [1.0, 0.0]] };
    assert!(body.lateral_plane(0.25, &[flat]).unwrap_err().to_string().contains("skeg"));
}

#[test]
fn ratios_are_pure_numbers() {
    close(sail_area_displacement(16.0, 8.0), 4.0, 1e-12);
    close(sail_area_wetted_surface(16.0, 8.0), 2.0, 1e-12);
}

#[test]
fn a_sail_without_area_is_named() {
    let rig = |corners: &[[f64; 2]]| Rig { name: "a".into(), sails: vec![sail("mizzen", corners)] };
    for corners in [
        &[][..],
        &[[0.0, 0.0], [1.0, 1.0]],
        &[[0.0, 0.0], [1.0, 1.0], [2.0, 2.0]],
        &[[0.0, 0.0], [1.0, 1.0], [1.0, 0.0], [0.0, 1.0]],
    ] {
        let error = rig(corners).effort().unwrap_err();
        assert!(error.to_string().contains("mizzen"), "{error}");
    }
    assert!(matches!(Rig { name: "bare".into(), sails: vec![] }.effort(), Err(FloatingError::Argument(_))));
}
