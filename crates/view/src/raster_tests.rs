//! What the painted pixels have to be.

use super::*;
use crate::{Show, Weave};
use laidwork_plan::{Color, Method, Pass, PassKind, Piece, Point, Thread, Vec2};

const RED: Color = Color::new(0xb0, 0x28, 0x30);
const GREEN: Color = Color::new(0x2f, 0x6d, 0x3c);

fn plan(pieces: Vec<(Color, Vec<Point>)>) -> Plan {
    let (colors, points): (Vec<Color>, Vec<Vec<Point>>) = pieces.into_iter().unzip();
    let piece = |(thread, points)| {
        let mut pass = Pass::after_jump(PassKind::Top, points);
        pass.trim = true;
        Piece { name: "piece".into(), method: Method::Fill, thread, passes: vec![pass] }
    };
    Plan {
        threads: colors.into_iter().map(|color| Thread { color, name: None }).collect(),
        pieces: points.into_iter().enumerate().map(piece).collect(),
        ..Plan::default()
    }
}

fn line(from: (f64, f64), to: (f64, f64)) -> Vec<Point> {
    vec![from.into(), to.into()]
}

/// Rows over a square of 12 mm around the origin, turned by `degrees`.
fn rows(degrees: f64, spacing: f64) -> Vec<Point> {
    let along = Vec2::from_angle(degrees.to_radians());
    let across = Vec2::new(-along.y, along.x);
    let count = (12.0 / spacing) as i32;
    let mut points = Vec::new();
    for row in 0..count {
        let mut row_points: Vec<Point> = (0..=3)
            .map(|i| (along * (f64::from(i) * 4.0 - 6.0) + across * (f64::from(row) * spacing - 6.0)).to_point())
            .collect();
        if row % 2 == 1 {
            row_points.reverse();
        }
        points.extend(row_points);
    }
    points
}

fn picture(plan: &Plan, look: &Look) -> Pixmap {
    Pixmap::decode_png(&png(plan, look).unwrap()).unwrap()
}

/// Mean of the pixels within `reach` of the picture's middle.
fn mean(picture: &Pixmap, reach: u32) -> [f64; 3] {
    let (x, y) = (picture.width() / 2, picture.height() / 2);
    let mut sum = [0.0; 3];
    for row in y - reach..y + reach {
        for column in x - reach..x + reach {
            let pixel = picture.pixel(column, row).unwrap();
            for (sum, byte) in sum.iter_mut().zip([pixel.red(), pixel.green(), pixel.blue()]) {
                *sum += f64::from(byte);
            }
        }
    }
    sum.map(|channel| channel / f64::from(4 * reach * reach))
}

fn far(seen: [f64; 3], color: Color) -> f64 {
    let wanted = [color.red, color.green, color.blue].map(f64::from);
    seen.iter().zip(wanted).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max)
}

#[test]
fn the_middle_of_a_stitch_has_the_threads_colour() {
    let look = Look { pixels_per_mm: 20.0, margin: 2.0, thread_width: 0.4, ..Look::default() };
    let picture = picture(&plan(vec![(RED, line((0.0, 0.0), (10.0, 0.0)))]), &look);
    assert_eq!((picture.width(), picture.height()), (288, 88));
    assert!(far(mean(&picture, 2), RED) < 45.0, "{:?}", mean(&picture, 2));
}

#[test]
fn beside_the_stitch_lies_fabric() {
    for weave in [Weave::Plain, Weave::Woven] {
        let look = Look { weave, margin: 4.0, ..Look::default() };
        let stitches = plan(vec![(RED, line((-8.0, -3.0), (-8.0, 3.0))), (RED, line((8.0, -3.0), (8.0, 3.0)))]);
        let seen = mean(&picture(&stitches, &look), 40);
        assert!(far(seen, look.fabric) < 6.0, "{weave:?}: {seen:?}");
    }
}

#[test]
fn sewn_areas_have_the_threads_colour_whatever_their_direction() {
    for color in [RED, GREEN, Color::new(0xe0, 0xa2, 0x1b), Color::new(0x22, 0x22, 0x26), Color::new(0xf2, 0xf0, 0xea)]
    {
        for degrees in [0.0, 35.0, 90.0, 140.0] {
            let seen = mean(&picture(&plan(vec![(color, rows(degrees, 0.22))]), &Look::default()), 30);
            assert!(far(seen, color) < 35.0, "{color} at {degrees}: {seen:?}");
        }
    }
}

#[test]
fn thread_across_the_light_is_brighter() {
    // The light comes from the upper left: 140 degrees (down to the left) runs across it, 45 along it.
    let bright = |degrees| mean(&picture(&plan(vec![(RED, rows(degrees, 0.22))]), &Look::default()), 30)[0];
    assert!(bright(140.0) > bright(50.0) + 12.0, "{} and {}", bright(140.0), bright(50.0));
}

#[test]
fn a_later_thread_lies_on_top() {
    for (first, second) in [(RED, GREEN), (GREEN, RED)] {
        let cross = plan(vec![(first, line((-4.0, 0.0), (4.0, 0.0))), (second, line((0.0, -4.0), (0.0, 4.0)))]);
        let seen = mean(&picture(&cross, &Look { pixels_per_mm: 20.0, ..Look::default() }), 2);
        assert!(far(seen, second) < 60.0 && far(seen, first) > 60.0, "{seen:?}");
    }
}

#[test]
fn what_lies_under_full_rows_is_hidden() {
    for degrees in [0.0, 30.0, 90.0] {
        let look = Look { pixels_per_mm: 20.0, ..Look::default() };
        let picture = picture(&plan(vec![(RED, rows(degrees, 2.2)), (GREEN, rows(0.0, 0.22))]), &look);
        let (x, y) = (picture.width() / 2, picture.height() / 2);
        let inside = (y - 80..y + 80).flat_map(|row| (x - 80..x + 80).map(move |column| (column, row)));
        let pixels: Vec<_> = inside.map(|(column, row)| picture.pixel(column, row).unwrap()).collect();
        let shows = pixels.iter().filter(|pixel| pixel.red() > pixel.green()).count();
        assert!(shows * 200 < pixels.len(), "{degrees}: {shows} of {}", pixels.len());
    }
}

#[test]
fn small_and_large_pictures_have_the_same_colours() {
    let square = plan(vec![(GREEN, rows(20.0, 0.22))]);
    let seen =
        |scale: f64| mean(&picture(&square, &Look { pixels_per_mm: scale, ..Look::default() }), (scale * 3.0) as u32);
    let large = seen(25.0);
    for scale in [1.0, 3.0, 10.0] {
        let small = seen(scale);
        let off = small.iter().zip(large).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        assert!(off < 10.0, "{scale}: {small:?}, but {large:?}");
    }
}

#[test]
fn the_same_plan_gives_the_same_bytes() {
    let square = plan(vec![(GREEN, rows(20.0, 0.22))]);
    for show in [Show::Threads, Show::Kinds, Show::Order, Show::Density, Show::Penetrations] {
        let look = Look { show, ..Look::default() };
        assert_eq!(png(&square, &look).unwrap(), png(&square, &look).unwrap());
    }
}

#[test]
fn wild_plans_have_pictures_too() {
    let wild = plan(vec![
        (RED, vec![Point::new(f64::NAN, 0.0), Point::new(1.0, f64::INFINITY), Point::ZERO, Point::ZERO]),
        (GREEN, vec![]),
    ]);
    for show in [Show::Threads, Show::Kinds, Show::Order, Show::Density, Show::Penetrations] {
        for plan in [&wild, &Plan::default()] {
            assert!(png(plan, &Look { show, ..Look::default() }).is_ok(), "{show:?}");
        }
    }
}

#[test]
fn a_picture_too_large_names_the_limit() {
    let long = plan(vec![(RED, line((0.0, 0.0), (10.0, 0.0)))]);
    for (plan, scale) in [(&long, 1000.0), (&plan(vec![(RED, line((0.0, 0.0), (1e7, 1e7)))]), 10.0)] {
        let said = png(plan, &Look { pixels_per_mm: scale, ..Look::default() }).unwrap_err().to_string();
        assert!(said.contains("64000000"), "{said}");
    }
}
