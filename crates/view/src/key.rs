//! The key below a diagram: what its colours mean.

use crate::frame::Frame;
use crate::lettering;
use crate::marks::Mark;
use crate::ramp::{INK, PAPER};
use laidwork_plan::{Color, Point, Rect};

/// Steps a bar of shades is drawn in.
const STEPS: u32 = 80;

/// Digits in a key are at least this high, in pixels.
const LEAST_PIXELS: f64 = 9.0;

/// A key in the making: items from left to right, in as many lines as they need.
pub(crate) struct Key {
    frame: Frame,
    text: f64,
    at: Point,
    right: f64,
    marks: Vec<Mark>,
}

impl Key {
    /// An empty key below what `frame` shows.
    pub fn new(frame: Frame) -> Key {
        let text = (frame.rect.width() / 52.0).clamp(1.0, 4.0).max(LEAST_PIXELS / frame.scale);
        let at = Point::new(frame.rect.x0 + 1.5 * text, frame.rect.y1 + 1.6 * text);
        Key { frame, text, at, right: frame.rect.x1, marks: Vec::new() }
    }

    /// Height of its digits, mm.
    pub fn text(&self) -> f64 {
        self.text
    }

    /// An item that shows a line.
    pub fn line(&mut self, color: Color, width: f64, dash: Option<f64>, words: &str) {
        let text = self.text;
        let at = self.room(4.0 * text + lettering::width(words, text));
        let y = at.y - text * 0.45;
        let points = vec![Point::new(at.x, y), Point::new(at.x + 2.6 * text, y)];
        self.marks.push(Mark::Line { points, width: width.min(text * 0.7), color, opacity: 1.0, dash });
        self.words(at.x + 3.5 * text, at.y, words);
    }

    /// An item that shows a dot, its radius a share of the letters' height.
    pub fn dot(&mut self, color: Color, radius: f64, words: &str) {
        let text = self.text;
        let at = self.room(2.0 * text + lettering::width(words, text));
        let center = Point::new(at.x + 0.6 * text, at.y - text * 0.45);
        self.marks.push(Mark::Dot { center, radius: radius * text, color, opacity: 1.0 });
        self.words(at.x + 1.7 * text, at.y, words);
    }

    /// A bar of shades with ticks (place from 0 to 1, and words), and its unit.
    pub fn bar(&mut self, shade: impl Fn(f64) -> Color, ticks: &[(f64, String)], unit: &str) {
        let text = self.text;
        let room = self.right - self.at.x - 1.5 * text;
        let needed: f64 = ticks.iter().map(|(_, words)| lettering::width(words, text) + 2.0 * text).sum();
        let length = (room * 0.8).max(needed);
        let at = self.room(length + 2.0 * text + lettering::width(unit, text));
        let (left, top, bottom) = (at.x, at.y - text, at.y + 0.4 * text);
        for i in 0..STEPS {
            let x = |i: u32| left + length * f64::from(i) / f64::from(STEPS);
            let color = shade(f64::from(i) / f64::from(STEPS - 1));
            self.marks.push(Mark::Cell { rect: Rect::new(x(i), top, x(i + 1), bottom), color });
        }
        self.words(left + length + 0.8 * text, at.y, unit);
        for (place, words) in ticks {
            let x = left + length * place;
            let points = vec![Point::new(x, top), Point::new(x, bottom + 0.5 * text)];
            self.marks.push(Mark::Line { points, width: text * 0.12, color: INK, opacity: 1.0, dash: None });
            let wide = lettering::width(words, text);
            let start = (x - wide / 2.0).clamp(left, (left + length - wide).max(left));
            self.words(start, bottom + 1.9 * text, words);
        }
        self.at.y += 2.6 * text;
    }

    /// The frame with the key in it, and the key's marks on their own ground.
    pub fn finish(self) -> (Frame, Vec<Mark>) {
        let mut rect = self.frame.rect;
        let ground = Rect::new(rect.x0, rect.y1, self.right, self.at.y + 1.4 * self.text);
        rect.x1 = ground.x1;
        rect.y1 = ground.y1;
        let side = Rect::new(self.frame.rect.x1, rect.y0, rect.x1, rect.y1);
        let mut marks = vec![Mark::Cell { rect: ground, color: PAPER }, Mark::Cell { rect: side, color: PAPER }];
        marks.extend(self.marks);
        (Frame { rect, ..self.frame }, marks)
    }

    /// Makes room for an item `width` wide, on the next line if need be.
    fn room(&mut self, width: f64) -> Point {
        let left = self.frame.rect.x0 + 1.5 * self.text;
        if self.at.x + width > self.right - self.text && self.at.x > left {
            self.at = Point::new(left, self.at.y + 2.0 * self.text);
        }
        let at = self.at;
        self.at.x += width + 1.2 * self.text;
        self.right = self.right.max(at.x + width + self.text);
        at
    }

    fn words(&mut self, x: f64, y: f64, text: &str) {
        if !text.is_empty() {
            self.marks.push(Mark::Text { at: Point::new(x, y), height: self.text, text: text.into(), color: INK });
        }
    }
}
