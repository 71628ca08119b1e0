//! What people have built: the house, the fence, the wire and its birds.

use super::noise::Dice;
use std::fmt::Write;

/// Two inks as an SVG colour: no red, then cool and warm in 0..255.
pub(super) fn inks(cool: u8, warm: u8) -> String {
    format!("rgb(0,{cool},{warm})")
}

/// The house of boards, its left wall at `x`, its foot at `y`: 232 wide, 84 to the eaves.
pub(super) fn house(x: f64, y: f64) -> String {
    let mut svg = format!("<g transform='translate({x} {y})'>");
    // Gable wall to the left, long wall to the right, roof with an overhang, chimney.
    let _ = write!(
        svg,
        "<path d='M0 4V-84L41 -132L82 -84V4z' fill='{}'/><rect x='82' y='-84' width='150' \
         height='88' fill='{}'/>",
        inks(120, 26),
        inks(66, 6)
    );
    let mut boards = String::new();
    for board in 0..28 {
        let down = -128.0 + 4.7 * f64::from(board);
        let half = if down < -84.0 { (down + 132.0) * 41.0 / 48.0 } else { 41.0 };
        let _ = write!(boards, "M{} {down}H{}", 41.0 - half, 41.0 + half);
        if down > -82.0 {
            let _ = write!(boards, "M82 {down}H232");
        }
    }
    let _ =
        write!(svg, "<path d='{boards}' fill='none' stroke='{}' stroke-width='0.9'/>", inks(40, 2));
    let _ = write!(
        svg,
        "<path d='M150 -128v-30h17v30z' fill='{}'/><path d='M148 -161h21v4h-21z' fill='{}'/>\
         <path d='M35 -136L48 -138L212 -138L240 -80H80z' fill='{}'/>\
         <path d='M-7 -78L41 -135L89 -78' fill='none' stroke='{}' stroke-width='4.5'/>",
        inks(44, 12),
        inks(30, 6),
        inks(30, 5),
        inks(150, 60)
    );
    let mut rows = String::new();
    for row in 1..12 {
        let part = f64::from(row) / 12.0;
        let _ = write!(
            rows,
            "M{} {}H{}",
            46.0 + 36.0 * part,
            -138.0 + 58.0 * part,
            212.0 + 28.0 * part
        );
    }
    let _ =
        write!(svg, "<path d='{rows}' fill='none' stroke='{}' stroke-width='0.7'/>", inks(52, 12));
    for (left, up, wide, high, warm) in [
        (14.0, -64.0, 20.0, 30.0, 235),
        (48.0, -64.0, 20.0, 30.0, 255),
        (33.0, -108.0, 16.0, 20.0, 70),
        (98.0, -64.0, 20.0, 30.0, 250),
        (196.0, -64.0, 20.0, 30.0, 60),
    ] {
        window(&mut svg, left, up, wide, high, warm);
    }
    // Door with a lit pane, and its step.
    let _ = write!(
        svg,
        "<rect x='146' y='-58' width='25' height='58' fill='{}'/>\
         <rect x='149' y='-55' width='19' height='55' fill='{}'/>\
         <path d='M152 -50h6v14h-6zM160 -50h6v14h-6z' fill='{}'/>\
         <rect x='142' y='-1' width='33' height='5' fill='{}'/></g>",
        inks(150, 40),
        inks(28, 4),
        inks(60, 220),
        inks(80, 10)
    );
    svg
}

/// A window of six panes in a white frame.
fn window(svg: &mut String, x: f64, y: f64, wide: f64, high: f64, warm: u8) {
    let _ = write!(
        svg,
        "<rect x='{x}' y='{y}' width='{wide}' height='{high}' fill='{}' stroke='{}' \
         stroke-width='2.4'/><path d='M{} {y}v{high}M{x} {}h{wide}M{x} {}h{wide}' stroke='{}' \
         stroke-width='1.1'/>",
        inks(warm / 6, warm),
        inks(200, 60),
        x + wide / 2.0,
        y + high / 3.0,
        y + 2.0 * high / 3.0,
        inks(150, 50)
    );
}

/// A picket fence from `left` to `right`, its foot on the line `foot`.
pub(super) fn fence(dice: &mut Dice, left: f64, right: f64, foot: impl Fn(f64) -> f64) -> String {
    let mut pickets = String::new();
    let mut x = left;
    while x < right {
        let (y, tall) = (foot(x) + 2.0, dice.between(25.0, 28.0));
        let lean = dice.between(-0.7, 0.7);
        let _ =
            write!(pickets, "M{x} {y}L{} {}l2.1 -3.4l2.1 3.4L{} {y}z", x + lean, y - tall, x + 4.2);
        x += 7.4;
    }
    let mut rails = String::new();
    for up in [8.0, 19.0] {
        let _ = write!(rails, "M{left} {}", foot(left) - up);
        let mut x = left;
        while x < right {
            x = (x + 20.0).min(right);
            let _ = write!(rails, "L{x} {}", foot(x) - up);
        }
    }
    format!(
        "<path d='{rails}' fill='none' stroke='{}' stroke-width='2.2'/><path d='{pickets}' fill='{}'/>",
        inks(110, 20),
        inks(190, 52)
    )
}

/// A pole with two arms at `x`, wires to both edges of a frame `half` to each side, and birds.
pub(super) fn wires(dice: &mut Dice, x: f64, half: f64) -> String {
    let dark = inks(14, 2);
    let mut svg = format!(
        "<g fill='none' stroke='{dark}'><path d='M{x} 0L{} -352' stroke-width='6'/>\
         <path d='M{} -330h64M{} -304h52' stroke-width='3.6'/>\
         <path d='M{} -328l24 34M{} -328l-24 34' stroke-width='1.6'/>",
        x + 2.0,
        x - 31.0,
        x - 25.0,
        x - 26.0,
        x + 28.0
    );
    let mut birds = String::new();
    for (place, (arm, up)) in
        [(-28.0, 337.0), (28.0, 337.0), (-22.0, 311.0), (24.0, 311.0)].into_iter().enumerate()
    {
        let at = x + arm;
        // The next pole to the left stands nearer to the eye and so higher in the picture.
        let (far, lift) = (-half - 260.0, up + 150.0 + 26.0 * place as f64);
        let sag = 118.0 + 5.0 * place as f64;
        let control = ((at + far) / 2.0, -(up + lift) / 2.0 + 2.0 * sag);
        let _ = write!(
            svg,
            "<path d='M{at} {}Q{} {} {far} {}' stroke-width='1.3'/>\
             <path d='M{at} {}Q{} {} {} {}' stroke-width='1.1'/>\
             <path d='M{at} {}v6' stroke-width='3.4'/>",
            -up,
            control.0,
            control.1,
            -lift,
            -up,
            (at + half) / 2.0 + 60.0,
            -up + 70.0,
            half + 160.0,
            -up + 30.0,
            -up
        );
        if place == 0 {
            let mut part = 0.10;
            for _ in 0..9 {
                part += dice.between(0.012, 0.05);
                let way = |from: f64, by: f64, to: f64| {
                    (1.0 - part).powi(2) * from + 2.0 * part * (1.0 - part) * by + part * part * to
                };
                let spot = (way(at, control.0, far), way(-up, control.1, -lift));
                bird(&mut birds, spot, if dice.between(0.0, 1.0) < 0.7 { 1.0 } else { -1.0 });
            }
        }
    }
    svg + &format!("</g><g fill='{dark}'>{birds}</g>")
}

/// A small bird that sits at a place and looks to one side: 1 right, -1 left.
fn bird(svg: &mut String, (x, y): (f64, f64), side: f64) {
    let _ = write!(
        svg,
        "<path transform='translate({x} {y}) scale({side} 1)' d='M-9 3L-2 -5.5C0 -9 1 -10.6 3.2 -10.6\
         C5.2 -10.6 6 -9.4 6.2 -8.6L8.4 -7.9L6 -7.2C5.6 -3.4 3 -0.4 0 0.2L-3 -0.6L-8 4z'/>"
    );
}
