//! Every point of a table's columns, and what brute force finds there.

use std::collections::BTreeSet;

use super::{Listed, Point, Table};

impl Table {
    /// The points of one column: every tick, and none and unknown where they are values of it.
    pub fn points_of(&self, column: usize) -> Vec<Point> {
        let declared = &self.columns[column];
        let mut points: Vec<Point> = (declared.low..=declared.high).map(Point::Value).collect();
        if self.names(column, Listed::None) {
            points.push(Point::None);
        }
        if self.names(column, Listed::Unknown) {
            points.push(Point::Unknown);
        }
        points
    }

    /// Every point of the grid.
    pub fn grid(&self) -> Vec<Vec<Point>> {
        let mut grid = vec![Vec::new()];
        for column in 0..self.columns.len() {
            let points = self.points_of(column);
            grid = grid
                .iter()
                .flat_map(|start: &Vec<Point>| {
                    points.iter().map(move |point| {
                        let mut longer = start.clone();
                        longer.push(*point);
                        longer
                    })
                })
                .collect();
        }
        grid
    }

    /// The points that no row takes.
    pub fn gaps(&self) -> Vec<Vec<Point>> {
        let grid = self.grid().into_iter();
        grid.filter(|point| self.live_rows(point).is_empty())
            .collect()
    }

    /// The pairs of rows that take the same point; none under *first*.
    pub fn overlaps(&self) -> BTreeSet<(usize, usize)> {
        let mut pairs = BTreeSet::new();
        if self.is_first {
            return pairs;
        }
        for point in self.grid() {
            let live = self.live_rows(&point);
            for (place, one) in live.iter().enumerate() {
                pairs.extend(live[place + 1..].iter().map(|other| (*one, *other)));
            }
        }
        pairs
    }

    /// The rows that decide at no point: under *unique* those that take none.
    pub fn unreached(&self) -> BTreeSet<usize> {
        let mut unreached: BTreeSet<usize> = (0..self.row_count()).collect();
        for point in self.grid() {
            let live = self.live_rows(&point);
            let deciding = if self.is_first { 1 } else { live.len() };
            for row in live.iter().take(deciding) {
                unreached.remove(row);
            }
        }
        unreached
    }
}
