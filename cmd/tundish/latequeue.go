package main

import (
	"fmt"
	"math"
	"time"

	"zombiezen.com/go/sqlite"
	"zombiezen.com/go/sqlite/sqlitex"

	"tundish/decode"
)

// lateQueue puts late readings in order of time. A sender whose clock is a minute slow makes all of its readings late: they
// stand in a temporary database, which keeps a few MB in memory and the rest in a file that vanishes with it.
type lateQueue struct {
	conn   *sqlite.Conn
	add    *sqlite.Stmt
	get    *sqlite.Stmt
	n      int64
	series []decode.Series
	places map[decode.Series]int64
	whys   []string
	on     bool // the row of get is not given yet
}

// lateCache is what the database keeps in memory, in KiB. Own choice.
const lateCache = 4096

func newLateQueue() (*lateQueue, error) {
	conn, err := sqlite.OpenConn("", sqlite.OpenReadWrite|sqlite.OpenCreate) // no name: a temporary one
	if err != nil {
		return nil, lateError(err)
	}
	q := &lateQueue{conn: conn, places: map[decode.Series]int64{}}
	for _, text := range []string{
		"PRAGMA journal_mode=OFF", "PRAGMA synchronous=OFF", fmt.Sprintf("PRAGMA cache_size=-%d", lateCache),
		`CREATE TABLE late (time INTEGER, n INTEGER, run INTEGER, seq INTEGER, series INTEGER, value INTEGER, quality INTEGER, why INTEGER,
PRIMARY KEY (time, n)) WITHOUT ROWID`, "BEGIN",
	} {
		err = firstError(err, sqlitex.ExecuteTransient(conn, text, nil))
	}
	if err == nil {
		q.add, err = conn.Prepare("INSERT INTO late VALUES (?, ?, ?, ?, ?, ?, ?, ?)")
	}
	if err != nil {
		q.close()
		return nil, lateError(err)
	}
	return q, nil
}

func lateError(err error) error {
	return fmt.Errorf("readings that came late cannot be put in order: %w; is there room for temporary files?", err)
}

// put adds a reading. Of equal times the one that was put first stays first.
func (q *lateQueue) put(run uint32, r *decode.Reading) error {
	series, known := q.places[r.Series]
	if !known {
		series = int64(len(q.series))
		q.series, q.places[r.Series] = append(q.series, r.Series), series
	}
	why := int64(-1)
	for i, w := range q.whys {
		if w == r.Why {
			why = int64(i)
		}
	}
	if why < 0 { // a decoder has a few of them
		why, q.whys = int64(len(q.whys)), append(q.whys, r.Why)
	}
	q.n++
	for i, v := range [...]int64{r.Time.UnixNano(), q.n, int64(run), int64(r.Seq), series, int64(math.Float64bits(r.Value)), int64(r.Quality), why} {
		q.add.BindInt64(i+1, v)
	}
	_, err := q.add.Step()
	if err = firstError(err, q.add.Reset()); err != nil {
		return lateError(err)
	}
	return nil
}

// sorted ends the putting, and begins the giving.
func (q *lateQueue) sorted() (err error) {
	if q.get, err = q.conn.Prepare("SELECT time, run, seq, series, value, quality, why FROM late ORDER BY time, n"); err != nil {
		return lateError(err)
	}
	return q.step()
}

func (q *lateQueue) step() (err error) {
	if q.on, err = q.get.Step(); err != nil {
		return lateError(err)
	}
	return nil
}

// next gives the next reading if it is not of after a time.
func (q *lateQueue) next(until time.Time) (run uint32, r decode.Reading, ok bool, err error) {
	if !q.on || q.get.ColumnInt64(0) > until.UnixNano() {
		return 0, r, false, nil
	}
	g := q.get
	r = decode.Reading{Seq: uint64(g.ColumnInt64(2)), Time: time.Unix(0, g.ColumnInt64(0)).UTC(), Series: q.series[g.ColumnInt64(3)],
		Value: math.Float64frombits(uint64(g.ColumnInt64(4))), Quality: decode.Quality(g.ColumnInt64(5)), Why: q.whys[g.ColumnInt64(6)]}
	run = uint32(g.ColumnInt64(1))
	return run, r, true, q.step()
}

func (q *lateQueue) close() { _ = q.conn.Close() } // nothing in it is kept
