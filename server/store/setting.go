package store

import (
	"context"
	"database/sql"
	"fmt"
	"net/url"
	"strconv"
	"strings"
	"time"
)

// The driver's own default in WAL mode is synchronous=NORMAL, which loses
// acknowledged writes at a power cut, and it passes over parameters it does not
// know without a word. So each setting that keeps data safe is asked for here and
// read back below.
const writerParameters = "_journal_mode=WAL&_synchronous=FULL&_foreign_keys=1" +
	"&_busy_timeout=5000&_txlock=immediate&_secure_delete=true"

const readerParameters = "mode=ro&_query_only=1&_foreign_keys=1&_busy_timeout=5000"

// statements is how many prepared statements a connection keeps: a push runs the
// same few for each of its operations.
const statements = "&_stmt_cache_size=32"

// WAL files could be damaged at a WAL reset from SQLite 3.7.0 on; 3.51.3 is the
// first version without that fault: "WAL Reset Bug", Write-Ahead Logging, SQLite documentation.
var oldestSQLite = [3]int{3, 51, 3}

// The numbers of "PRAGMA synchronous": 2 is FULL (SQLite documentation, "PRAGMA Statements").
var writerSettings = map[string]string{
	"journal_mode": "wal", "synchronous": "2", "foreign_keys": "1", "busy_timeout": "5000",
	"secure_delete": "1", // what is erased must not lie about in freed pages
}

var readerSettings = map[string]string{
	"journal_mode": "wal", "query_only": "1", "foreign_keys": "1", "busy_timeout": "5000",
}

func writerDSN(path string) string { return dsn(path, writerParameters+statements) }
func readerDSN(path string) string { return dsn(path, readerParameters+statements) }

func dsn(path, parameters string) string {
	return "file:" + (&url.URL{Path: path}).EscapedPath() + "?" + parameters
}

// checkSettings reads every setting and the library's version back.
func checkSettings(db *sql.DB, want map[string]string) error {
	conn, err := db.Conn(context.Background())
	if err != nil {
		return err
	}
	defer conn.Close()
	for name, value := range want {
		var got string
		row := conn.QueryRowContext(context.Background(), "PRAGMA "+name)
		if err := row.Scan(&got); err != nil {
			return err
		}
		if got != value {
			return fmt.Errorf("%w: %s is %s, must be %s", ErrSetting, name, got, value)
		}
	}
	var version string
	row := conn.QueryRowContext(context.Background(), "SELECT sqlite_version()")
	if err := row.Scan(&version); err != nil {
		return err
	}
	return checkVersion(version)
}

func checkVersion(version string) error {
	parts := strings.Split(version, ".")
	for i, oldest := range oldestSQLite {
		n := -1
		if i < len(parts) {
			if v, err := strconv.Atoi(parts[i]); err == nil {
				n = v
			}
		}
		if n > oldest {
			return nil
		}
		if n < oldest {
			return fmt.Errorf("%w: SQLite %s can damage its log, 3.51.3 is the first that cannot",
				ErrSetting, version)
		}
	}
	return nil
}

// quickWait is how long a start looks for damage; our own choice. A file that takes longer is
// opened all the same: the server reads all of it each week.
var quickWait = 20 * time.Second

// checkHealth finds a damaged file before anything is served from it.
func checkHealth(db *sql.DB) error {
	ctx, done := context.WithTimeout(context.Background(), quickWait)
	defer done()
	var verdict string
	err := db.QueryRowContext(ctx, "PRAGMA quick_check(1)").Scan(&verdict)
	if ctx.Err() != nil {
		return nil
	}
	if err != nil {
		return err
	}
	if verdict != "ok" {
		return fmt.Errorf("%w: %s", ErrCorrupt, verdict)
	}
	return nil
}
