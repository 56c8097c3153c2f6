package pcapng

import "os"

// OS is the computer's own file system.
func OS() FS { return osFS{} }

type osFS struct{}

func (osFS) Create(name string) (File, error) {
	f, err := os.Create(name)
	if err != nil {
		return nil, err
	}
	return f, nil
}

func (osFS) Rename(old, new string) error { return os.Rename(old, new) }
func (osFS) Remove(name string) error     { return os.Remove(name) }

// SyncDir makes what stands in a folder last: a renamed file is only there for sure after it.
func (osFS) SyncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	err = d.Sync()
	if closed := d.Close(); err == nil {
		err = closed
	}
	return err
}
