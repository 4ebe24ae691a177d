//! When every load of a plan is set in and ends, given the turns of the loads at the operators.

/// Rounding of moments [min].
const ROUNDING_MIN: f64 = 1e-9;

/// Most times a timetable is made anew from its own order.
const MOST_PASSES: usize = 64;

/// One load in the order of its bench.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Entry {
    /// It began: set in from, ended or will end [min].
    Begun([f64; 2]),
    /// It has not begun.
    Ahead {
        /// Its turn at the operators; the smaller the earlier, last of all if not said.
        turn: Option<u32>,
        /// After the end of the load before [min].
        cooling: f64,
        /// From the end of setting in to the end of the last scan [min].
        heating: f64,
        /// Whether there is anything to set in.
        set_in: bool,
    },
}

impl Entry {
    fn turn(&self) -> u32 {
        match self {
            Self::Begun(_) => 0,
            Self::Ahead { turn, .. } => turn.unwrap_or(u32::MAX),
        }
    }

    fn with_turn(self, turn: u32) -> Self {
        match self {
            Self::Begun(_) => self,
            Self::Ahead {
                cooling,
                heating,
                set_in,
                ..
            } => Self::Ahead {
                turn: Some(turn),
                cooling,
                heating,
                set_in,
            },
        }
    }
}

/// Set-in and end of every load [min], bench by bench: in order of their turns each load takes the
/// first moment at which block and operator are free, from `now_min` on.
///
/// That is repeated with the turns that follow from the times until nothing changes, which moves no load
/// back: turns taken from the times give the same times.
pub(crate) fn timetable(
    entries: &[Vec<Entry>],
    now_min: f64,
    load_min: f64,
    operators: usize,
) -> Vec<Vec<[f64; 2]>> {
    let mut entries = entries.to_vec();
    let mut times = one_pass(&entries, now_min, load_min, operators);
    for _ in 0..MOST_PASSES {
        for (own, turns) in entries.iter_mut().zip(turns(&times)) {
            for (entry, turn) in own.iter_mut().zip(turns) {
                *entry = entry.with_turn(turn);
            }
        }
        let again = one_pass(&entries, now_min, load_min, operators);
        if again == times {
            break;
        }
        times = again;
    }
    times
}

/// Turns at the operators as the times of set-in have them: 0 for the first of all.
pub(crate) fn turns(times: &[Vec<[f64; 2]>]) -> Vec<Vec<u32>> {
    let mut starts: Vec<(f64, usize, usize)> = Vec::new();
    for (bench, loads) in times.iter().enumerate() {
        for (place, [set_in, _]) in loads.iter().enumerate() {
            starts.push((*set_in, bench, place));
        }
    }
    starts.sort_by(|a, b| a.0.total_cmp(&b.0).then((a.1, a.2).cmp(&(b.1, b.2))));
    let mut turns: Vec<Vec<u32>> = times.iter().map(|loads| vec![0; loads.len()]).collect();
    for (turn, (_, bench, place)) in (0..).zip(starts) {
        turns[bench][place] = turn;
    }
    turns
}

/// A bench while its loads are lined up.
struct Line<'a> {
    entries: &'a [Entry],
    /// A load goes when the most urgent of it and those behind it on its bench does.
    urgent: Vec<u32>,
    left_min: f64,
    free_min: f64,
    done: Vec<[f64; 2]>,
}

impl Line<'_> {
    fn next(&self) -> Option<(Entry, u32)> {
        let place = self.done.len();
        Some((*self.entries.get(place)?, *self.urgent.get(place)?))
    }
}

fn one_pass(
    entries: &[Vec<Entry>],
    now_min: f64,
    load_min: f64,
    operators: usize,
) -> Vec<Vec<[f64; 2]>> {
    let mut hands = Hands::new(operators, load_min);
    let mut lines: Vec<Line> = entries.iter().map(|own| line(own, load_min)).collect();
    for entry in entries.iter().flatten() {
        if let Entry::Begun([from, _]) = entry {
            hands.take(*from);
        }
    }
    loop {
        // Turn, the moment it can begin, what the bench has left (most first), which bench.
        let mut chosen: Option<(u32, f64, f64, usize)> = None;
        for (number, line) in lines.iter().enumerate() {
            let Some((entry, urgent)) = line.next() else {
                continue;
            };
            if chosen.is_some_and(|(least, ..)| urgent > least) {
                continue;
            }
            let from = begins(entry, line.free_min, now_min, &hands);
            let key = (urgent, from, -line.left_min, number);
            if chosen.is_none_or(|other| key < other) {
                chosen = Some(key);
            }
        }
        let Some((_, from, _, number)) = chosen else {
            return lines.into_iter().map(|line| line.done).collect();
        };
        let line = &mut lines[number];
        let times = match line.entries[line.done.len()] {
            Entry::Begun(times) => times,
            Entry::Ahead { set_in: false, .. } => [from, from],
            Entry::Ahead { heating, .. } => {
                hands.take(from);
                [from, from + load_min + heating]
            }
        };
        line.left_min -= length(&line.entries[line.done.len()], load_min);
        line.free_min = line.free_min.max(times[1]);
        line.done.push(times);
    }
}

fn line(entries: &[Entry], load_min: f64) -> Line<'_> {
    let mut urgent: Vec<u32> = entries.iter().map(Entry::turn).collect();
    for place in (1..urgent.len()).rev() {
        urgent[place - 1] = urgent[place - 1].min(urgent[place]);
    }
    Line {
        entries,
        urgent,
        left_min: entries.iter().map(|entry| length(entry, load_min)).sum(),
        free_min: 0.0,
        done: Vec::with_capacity(entries.len()),
    }
}

fn length(entry: &Entry, load_min: f64) -> f64 {
    match entry {
        Entry::Begun(_) | Entry::Ahead { set_in: false, .. } => 0.0,
        Entry::Ahead {
            cooling, heating, ..
        } => cooling + load_min + heating,
    }
}

fn begins(entry: Entry, free_min: f64, now_min: f64, hands: &Hands) -> f64 {
    match entry {
        Entry::Begun([from, _]) => from,
        Entry::Ahead { set_in: false, .. } => free_min.max(now_min),
        Entry::Ahead { cooling, .. } => hands.first_free((free_min + cooling).max(now_min)),
    }
}

/// When loads are set in; each takes an operator for as long.
struct Hands {
    operators: usize,
    load_min: f64,
    /// Rising [min].
    starts: Vec<f64>,
}

impl Hands {
    fn new(operators: usize, load_min: f64) -> Self {
        Self {
            operators,
            load_min,
            starts: Vec::new(),
        }
    }

    fn take(&mut self, from: f64) {
        let place = self.starts.partition_point(|&start| start <= from);
        self.starts.insert(place, from);
    }

    /// The first moment from `at` on from which an operator has the time to set a load in.
    fn first_free(&self, at: f64) -> f64 {
        if self.load_min <= ROUNDING_MIN || self.may_begin(at) {
            return at;
        }
        let first = self
            .starts
            .partition_point(|&start| start + self.load_min < at);
        self.starts[first..]
            .iter()
            .map(|start| start + self.load_min)
            .find(|&from| self.may_begin(from))
            .unwrap_or(at)
    }

    /// Whether fewer than all operators are busy at every moment of a set-in from `from` on.
    fn may_begin(&self, from: f64) -> bool {
        let busy = |moment: f64| {
            let gone = self
                .starts
                .partition_point(|&start| start <= moment - self.load_min + ROUNDING_MIN);
            let begun = self
                .starts
                .partition_point(|&start| start <= moment + ROUNDING_MIN);
            begun - gone
        };
        if busy(from) >= self.operators {
            return false;
        }
        let first = self
            .starts
            .partition_point(|&start| start <= from + ROUNDING_MIN);
        self.starts[first..]
            .iter()
            .take_while(|&&start| start < from + self.load_min - ROUNDING_MIN)
            .all(|&start| busy(start) < self.operators)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ahead(turn: Option<u32>, cooling: f64, heating: f64) -> Entry {
        Entry::Ahead {
            turn,
            cooling,
            heating,
            set_in: true,
        }
    }

    /// One operator, 2 min to set in: without turns the bench with most to do goes first.
    #[test]
    fn the_longest_bench_goes_first() {
        let entries = [vec![ahead(None, 0.0, 5.0)], vec![ahead(None, 0.0, 9.0)]];
        let times = timetable(&entries, 0.0, 2.0, 1);
        assert_eq!(times, [vec![[2.0, 9.0]], vec![[0.0, 11.0]]]);
    }

    /// With a turn the other way round, and with two operators at once.
    #[test]
    fn turns_are_kept_and_two_operators_work_at_once() {
        let entries = [
            vec![ahead(Some(0), 0.0, 5.0)],
            vec![ahead(Some(1), 0.0, 9.0)],
        ];
        let times = timetable(&entries, 0.0, 2.0, 1);
        assert_eq!(times, [vec![[0.0, 7.0]], vec![[2.0, 13.0]]]);
        let times = timetable(&entries, 0.0, 2.0, 2);
        assert_eq!(times, [vec![[0.0, 7.0]], vec![[0.0, 11.0]]]);
    }

    /// Bench 0 was set in from 1 to 3 and ends at 20, cooled for 4 min; at 2 bench 1 waits for the hands.
    #[test]
    fn what_began_holds_its_bench_and_its_operator() {
        let entries = [
            vec![Entry::Begun([1.0, 20.0]), ahead(None, 4.0, 6.0)],
            vec![ahead(None, 0.0, 10.0)],
        ];
        let times = timetable(&entries, 2.0, 2.0, 1);
        assert_eq!(times, [vec![[1.0, 20.0], [24.0, 32.0]], vec![[3.0, 15.0]]]);
    }

    /// A turn too early for its place does not hold up the others: they take the gap before it.
    #[test]
    fn gaps_are_used() {
        let entries = [
            vec![ahead(Some(5), 0.0, 8.0), ahead(Some(0), 3.0, 1.0)],
            vec![ahead(Some(6), 1.0, 5.0)],
        ];
        let times = timetable(&entries, 0.0, 2.0, 1);
        assert_eq!(times, [vec![[0.0, 10.0], [13.0, 16.0]], vec![[2.0, 9.0]]]);
    }
}
