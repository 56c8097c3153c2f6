// Package record is the codec of the log's records.
package record
