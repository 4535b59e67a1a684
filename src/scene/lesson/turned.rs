//! How the C-arm stood, from above and from the side, with what that does to an AP.

use crate::geom::point::{Point, Vec2};
use crate::measure::true_view::view::Angle;
use crate::scene::drawing::shape::{AlignX, AlignY, Rect, Role, Scene};
use crate::scene::lesson::board::Board;
use crate::scene::view_sketch;

const MIDDLE: (AlignX, AlignY) = (AlignX::Middle, AlignY::Middle);

/// An AP rotated by 5° and tilted by 3°.
#[must_use]
pub fn turned_view() -> Scene {
    let mut board = Board::new(320.0);
    let rooms = [Rect::new(40.0, 56.0, 340.0, 290.0), Rect::new(380.0, 56.0, 680.0, 290.0)];
    let (turn, tilt) = (Angle { deg: 5.0, sd_deg: 2.0 }, Angle { deg: 3.0, sd_deg: 1.0 });
    view_sketch::ap_in(&mut board.scene, rooms, turn, tilt);
    let said = [
        ("Rotation", "shifts pedicles and spinous process against the body"),
        ("Tilt", "separates the two lines of each endplate"),
    ];
    for (room, (name, words)) in rooms.into_iter().zip(said) {
        let at = Point::new(room.centre().x, 20.0);
        board.words(at, MIDDLE, name, Role::Text);
        board.words(at + Vec2::new(0.0, 18.0), MIDDLE, words, Role::WeakText);
    }
    let foot = Point::new(360.0, 308.0);
    board.words(
        foot,
        MIDDLE,
        "gray: the ray of a true view; shaded: the range that holds the angle with 95 % probability",
        Role::WeakText,
    );
    board.scene
}
